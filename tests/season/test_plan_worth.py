"""What the crop loses beside a plan, by the farm's own prices; nothing where it told none."""

from __future__ import annotations

import dataclasses
import json
from importlib.resources import files

from jsonschema import Draft202012Validator
from tests.season.tunnels import a_farm

from outpace.season.plan import plan
from outpace.season.worth import worth_from_words
from outpace.surfaces.text.plan import render

VALUE, LOSS, AREA = 9.0, 0.05, 60.0


def test_the_loss_of_the_crop_stands_beside_the_cost_only_where_the_farm_told_it():
    book = a_farm(1, level=22.0, infested=2)
    assert not any("loss" in row for row in plan(book)["instead"])
    told = dataclasses.replace(
        book,
        head="worth",
        rows={**book.rows, "own_facts": tuple(worth_from_words(book, value=VALUE, loss=LOSS).rows)},
    )
    found = plan(told)
    schema = json.loads(files("outpace.surfaces.schemas").joinpath("plan.json").read_text("utf-8"))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(found)] == []
    rows = {row["key"]: row for row in found["instead"]}
    # Law: a crop never loses more than it is worth, and on the same luck fewer wasps never lose less of it.
    assert all(0 <= row["loss"] <= VALUE * AREA for row in rows.values() if "loss" in row)
    assert rows["nothing"]["loss"] >= rows["plan"]["loss"] >= rows["double"]["loss"] - 0.01
    assert found["cost"]["loss"] == rows["plan"]["loss"]
    text = render(found, others=True)
    assert "lost" in text
    assert max(len(line) for line in text.splitlines()) <= 80
