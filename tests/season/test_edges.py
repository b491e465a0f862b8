"""When to stop releasing, and the dated checklists of a season's edges."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import jsonschema
import pytest
from tests.season.tunnels import a_farm

import outpace.surfaces.schemas
from outpace.facts.table import load
from outpace.season.case import house_case
from outpace.season.edges import edges
from outpace.season.season_edges import due_within, edge_tasks
from outpace.season.tasks import _edges
from outpace.surfaces.sheets import edge_sheet
from outpace.surfaces.text.edges import render
from outpace.terms.place import Farm, House, PlantsIn
from outpace.terms.scouting import Count, Mummies, Walk

FARM = a_farm(1, area_m2=200.0, level=5.0, infested=20)


def known(*rows, head, **house):
    """Return the farm with other walks, and its house changed."""
    tables = {**FARM.rows, "houses": (replace(FARM.table(House)[0], **house),)}
    if rows:
        tables = {**tables, "walks": (), "walk_lines": (), "counts": (), "mummies": (), "plants_in": ()}
        names = {Walk: "walks", Count: "counts", Mummies: "mummies", PlantsIn: "plants_in"}
        for row in rows:
            tables[names[type(row)]] += (row,)
    return replace(FARM, head=head, rows=tables)


def walk(key, day, finds, *, closed=0, smooth=0, ragged=0):
    """Return a walk of forty leaves, the first of which hold the finds and the mummies."""
    rows = [
        Walk(
            walk=key, farm="Low Meadow", house="tunnel 1", time=datetime(2026, 5, day, 9, tzinfo=UTC), unit="leaf",
            chosen="random",
        )
    ]  # fmt: skip
    for unit in range(1, 41):
        found = finds[unit - 1] if unit <= len(finds) else 0
        rows.append(Count(walk=key, unit_no=unit, pest="myzus_persicae", aphids=str(found)))
    rows.append(
        Mummies(walk=key, unit_no=1, colour="tan", closed=closed, empty_smooth=smooth, empty_ragged=ragged)
    )
    return rows


def releases(snapshot, **told):
    return edges(snapshot, "tunnel 1", **told)["houses"][0]["releases"]


def test_the_answer_satisfies_its_schema_and_the_sheet_is_a_pdf():
    answer = edges(FARM, end=date(2026, 9, 30))
    schema = json.loads((Path(outpace.surfaces.schemas.__file__).parent / "edges.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    assert [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(answer)] == []
    assert max(len(line) for line in render(answer).splitlines()) <= 80
    pytest.importorskip("typst")
    assert edge_sheet.render(answer).startswith(b"%PDF")


def test_one_count_is_never_enough_to_stop():
    told = releases(FARM)
    assert told["word"] == "go on"
    assert told["signs"][0]["met"] is False


def test_two_low_counts_with_mummies_and_a_quiet_forecast_stop_the_releases():
    rows = [*walk("w1", 1, [2], closed=6, smooth=9), *walk("w2", 3, [1], closed=4, smooth=12)]
    told = releases(known(*rows, head="low", action_level=4000.0))
    assert [sign["met"] for sign in told["signs"]][:3] == [True, True, True]
    assert told["word"] == "stop"
    bare = [*walk("w1", 1, [2]), *walk("w2", 3, [1])]
    assert releases(known(*bare, head="bare", action_level=4000.0))["word"] == "go on"


def test_ragged_holes_stop_the_wasps_first():
    rows = [*walk("w1", 1, [9, 9, 9], closed=3), *walk("w2", 3, [9, 9, 9], smooth=8, ragged=12)]
    assert releases(known(*rows, head="ragged"))["word"] == "stop wasps"


def test_a_crop_that_goes_out_before_mummies_can_show_gets_no_more():
    # by hand: at about 17 to 20 °C mummies need a week at least, so a crop out in three days gets nothing of it
    told = releases(FARM, end=date(2026, 5, 7))
    assert told["word"] == "too late"
    assert date.fromisoformat(told["last_useful_release"]) < date(2026, 5, 4)
    assert releases(FARM, end=date(2026, 9, 30))["word"] == "go on"


def test_the_days_of_a_list_are_those_of_the_table_counted_from_their_edge():
    [house], [farm] = FARM.table(House), FARM.table(Farm)
    facts, planting = load(), date(2026, 8, 1)
    tasks = edge_tasks(FARM, facts, farm, house, planting=planting, end=None)
    assert {item.edge for item in tasks} == {"beginning"}
    for item in tasks:
        assert item.day == planting + timedelta(days=round(facts.one("", "edge_day", stage=item.name).value))
        assert item.first <= item.day <= item.last


def test_bankers_are_only_taken_out_where_some_stand():
    [house], [farm] = FARM.table(House), FARM.table(Farm)
    tasks = edge_tasks(FARM, load(), farm, house, planting=None, end=date(2026, 8, 1))
    assert "bankers out" not in {item.name for item in tasks}
    assert "house empty" in {item.name for item in tasks}


def test_the_week_asks_for_what_is_due_and_not_for_what_is_on_record():
    soon = known(head="soon", planted=date(2026, 5, 6))
    [house], [farm] = soon.table(House), soon.table(Farm)
    due = {item.name for item in due_within(edge_tasks(soon, load(), farm, house, planting=house.planted, end=None),
                                            date(2026, 5, 4), 7)}  # fmt: skip
    assert due == {"plants looked at", "baseline walk"}
    case = house_case(soon, farm, house, members=8)
    assert len(_edges(case)) == 2
    looked = PlantsIn(
        batch="b", farm=farm.farm, house=house.house, time=datetime(2026, 5, 6, 9, tzinfo=UTC), crop="sweet_pepper",
        number=100, looked_at=40,
    )  # fmt: skip
    told = replace(soon, head="told", rows={**soon.rows, "plants_in": (looked,)})
    assert [row["what"][:4] for row in _edges(house_case(told, farm, house, members=8))] == ["Walk"]
