"""Which enemy fits a house, as an answer."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from tests.season.tunnels import a_farm

import outpace.surfaces.schemas
from outpace.facts.table import load
from outpace.season.enemies import enemies
from outpace.surfaces.text.enemies import render

FARM = a_farm(1)
UNNAMED = replace(
    FARM,
    head="unnamed",
    rows={**FARM.rows, "walk_lines": tuple(replace(row, pest="unknown") for row in FARM.rows["walk_lines"])},
)


@pytest.mark.parametrize("snapshot", [FARM, UNNAMED], ids=["named", "unnamed"])
def test_the_answer_satisfies_its_schema_and_names_every_known_enemy(snapshot):
    answer = enemies(snapshot, "tunnel 1")
    schema = json.loads((Path(outpace.surfaces.schemas.__file__).parent / "enemies.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    assert [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(answer)] == []
    [row] = answer["houses"]
    known = {key for key, item in load().species.items() if item.kind == "enemy"}
    assert {item["enemy"] for item in row["candidates"]} == known
    assert all(item["for"] or item["against"] for item in row["candidates"])
    assert max(len(line) for line in render(answer, sources=True).splitlines()) <= 80


def test_the_one_on_offer_that_accepts_the_aphid_comes_first_of_the_wasps_on_offer():
    [row] = enemies(FARM)["houses"]
    offered = [item for item in row["candidates"] if item["on_offer"]]
    assert [(item["enemy"], item["pests"]) for item in offered] == [("aphidius_colemani", ["myzus_persicae"])]


def test_an_aphid_without_a_name_says_how_to_find_out():
    [row] = enemies(UNNAMED)["houses"]
    assert row["unknown"]["find_out"]
    assert enemies(UNNAMED)["sentence"].startswith("Name the aphid of tunnel 1 by Mon 4 May: 0 wasps")
