"""Banker plants in the plan: all four densities, the days, and when they do not serve. Orders as a file."""

from __future__ import annotations

import csv
import io
import itertools
import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import jsonschema
import pytest
from tests.season.test_edges import known, walk
from tests.season.tunnels import a_farm

import outpace.surfaces.schemas
from outpace.facts.table import load
from outpace.season.banker_plan import banker_plan
from outpace.surfaces.order_files import order_table
from outpace.surfaces.tables import csv_bytes
from outpace.surfaces.text.banker import render_plan

ANSWERS = Path(__file__).parents[1] / "surfaces" / "answers"
FARM = a_farm(1, area_m2=500.0)


def one(snapshot, **told):
    return banker_plan(snapshot, "tunnel 1", **told)["houses"][0]


def test_the_answer_satisfies_its_schema_and_80_columns():
    answer = banker_plan(FARM, aphids_from="2026-07-01")
    schema = json.loads((Path(outpace.surfaces.schemas.__file__).parent / "bankerplan.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    assert [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(answer)] == []
    assert max(len(line) for line in render_plan(answer).splitlines()) <= 80


def test_all_four_densities_stand_side_by_side_with_their_sources():
    # by hand, for 500 m²: 10.8 per 1,000 is 5.4, so 6 pots; 4.8 is 3; 0.67 to 2 is 1 to 1; 0.5 is 1
    ways = one(FARM)["how_many"]
    assert [(way["low"], way["high"]) for way in ways] == [(6, 6), (3, 3), (1, 1), (1, 1)]
    assert all(way["source"] for way in ways)


def test_the_days_follow_the_day_aphids_are_expected():
    row = one(FARM, aphids_from="2026-06-20")
    facts = load()
    days = {name: facts.one("any_wasp", name) for name in ("banker_start", "banker_renewal")}
    out, first = date.fromisoformat(row["set_out"]), date.fromisoformat("2026-06-20")
    assert (first - out).days == round(days["banker_start"].value)
    assert row["order_by"] <= row["set_out"]
    steps = [date.fromisoformat(day) for day in (row["set_out"], *row["renew"])]
    assert {(b - a).days for a, b in itertools.pairwise(steps)} <= {round(days["banker_renewal"].value)}
    assert all(day < row["withdraw_by"] for day in row["renew"])
    assert one(FARM, aphids_from="2026-05-06")["late"]


def test_bankers_do_not_serve_against_an_aphid_their_wasps_refuse():
    lines = tuple(replace(line, pest="macrosiphum_euphorbiae") for line in FARM.rows["walk_lines"])
    large = replace(FARM, head="large", rows={**FARM.rows, "walk_lines": lines})
    assert one(large)["serves"] is False
    assert one(FARM)["serves"] is True


def test_one_ragged_hole_is_enough_to_keep_bankers_out():
    row = one(known(*walk("w1", 1, [9], smooth=20, ragged=1), head="one ragged"))
    assert row["serves"] is False
    assert any("ragged" in text for text in row["why"])


def test_the_orders_as_a_table_add_up_to_their_totals():
    answer = json.loads((ANSWERS / "order.json").read_text())
    rows = list(csv.DictReader(io.StringIO(csv_bytes(order_table(answer)).decode("utf-8-sig"))))
    for order in answer["orders"]:
        mine = [
            row for row in rows if (row["supplier"], row["cutoff"]) == (order["supplier"], order["cutoff"])
        ]
        told = sum(float(row["price"]) for row in mine if row["price"])
        assert told == pytest.approx(sum(line["price"] for line in order["lines"]) + order["freight"])
        houses = {row["house"] for row in mine} - {""}
        assert houses == {place["house"] for line in order["lines"] for place in line["houses"]}
