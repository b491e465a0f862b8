"""Walks planned, shared out over minutes, and ended early, on small invented farms."""

from __future__ import annotations

import dataclasses
import json
from datetime import UTC, date, datetime
from pathlib import Path

import jsonschema
import pytest
from tests.season.tunnels import NOW, a_farm

import outpace.surfaces.schemas
from outpace.errors import OutpaceError
from outpace.estimation.double_counts import Eye
from outpace.facts.table import load
from outpace.season import sampled
from outpace.season.names import pick_farm, pick_house
from outpace.season.no_finds import no_finds
from outpace.season.observed import walks_of
from outpace.season.walk_plan import walk_plan
from outpace.season.walk_round import walk_round
from outpace.terms.place import Zone
from outpace.terms.scouting import Count, Walk, WalkLine
from outpace.terms.tables import Snapshot

FACTS = load()
FARM = "Low Meadow"
SCHEMAS = Path(outpace.surfaces.schemas.__file__).parent


def satisfies(answer):
    name = answer["schema"].split(".")[1].split("/")[0]
    schema = json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8"))
    return [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(answer)] == []


def with_rows(known: Snapshot, **rows) -> Snapshot:
    """Return the snapshot with more rows, and another head, so that nothing kept of the first is used."""
    merged = {name: (*known.rows.get(name, ()), *more) for name, more in rows.items()}
    return dataclasses.replace(known, head=known.head + "+", rows={**known.rows, **merged})


def counted(name, day, finds, *, house="tunnel 1", scout="Ana", zone=None, **other):
    """Return a walk and its counts, one plant a number of aphids."""
    walk = Walk(walk=name, farm=FARM, house=house, time=datetime(2026, 5, day, 9, tzinfo=UTC), scout=scout,
                unit=other.pop("unit", "plant"), chosen=other.pop("chosen", "random"), **other)  # fmt: skip
    rows = [
        Count(
            walk=name,
            unit_no=number,
            pest="myzus_persicae",
            aphids=str(aphids),
            plant=f"p{number}",
            zone=zone(number) if zone else None,
        )
        for number, aphids in enumerate(finds, 1)
    ]
    return walk, rows


@pytest.fixture(scope="module")
def farm() -> Snapshot:
    return a_farm(2)


def test_a_house_is_planned_with_its_plants_and_a_table_that_needs_nothing_else(farm):
    answer = walk_plan(farm, "tunnel 1")
    assert satisfies(answer)
    rule = answer["rules"][0]
    looks = [look["no"] for looks in answer["passes"] for look in looks if look["kind"] == "sample"]
    assert looks == list(range(1, rule["most"] + 1))
    assert len(rule["high_at_or_over"]) == rule["most"] - rule["least"] + 1
    assert rule["saved"] > 0.4
    assert walk_plan(farm, "tunnel 1") == answer
    assert walk_plan(farm, "tunnel 1", seed=5)["passes"] != answer["passes"]


def test_the_live_stop_is_what_the_printed_table_says(farm):
    rule = walk_plan(farm, "tunnel 1")["rules"][0]
    clean = walk_plan(farm, "tunnel 1", seen=[0] * 60)["stand"]
    first = next(n for n, low in enumerate(rule["low_at_or_under"]) if low is not None) + rule["least"]
    assert (clean["end"], clean["looked_at"]) == ("low", first)
    assert clean["passed_over"] == 60 - first
    assert clean["say"].startswith("You may stop")
    begun = walk_plan(farm, "tunnel 1", seen=[0, 0, 1])["stand"]
    assert begun["end"] == "on"
    assert str(begun["clean_more"]) in begun["say"]


def test_a_house_smaller_than_a_walk_is_looked_at_whole():
    small = a_farm(1, area_m2=3.0)
    answer = walk_plan(small, "tunnel 1")
    assert answer["plants"]["most"] == 7
    assert "all 7 plants" in answer["sentence"]


def test_own_counts_move_the_clumping_and_hunted_ones_do_not(farm):
    finds = [0, 0, 9, 0, 0, 0, 40, 0, 0, 1, 0, 0, 0, 12, 0, 0, 3, 0, 0, 0] * 2
    levels = {"houses": [dataclasses.replace(h, action_unit="plant") for h in farm.rows["houses"]]}
    base = dataclasses.replace(farm, rows={**farm.rows, **{k: tuple(v) for k, v in levels.items()}})
    for chosen, walks in (("random", 3), ("hunted", 0)):
        told = [counted(f"{chosen}{day}", day, finds, chosen=chosen) for day in (1, 2, 3)]
        more = with_rows(base, walks=[w for w, _ in told], counts=[c for _, rows in told for c in rows])
        clumping = walk_plan(more, "tunnel 1")["clumping"]
        assert clumping["walks"] == walks
        assert (clumping["own"] is not None) == (chosen == "random")
    assert clumping["used"] == clumping["prior"]


def test_doors_get_more_looks_where_own_walks_found_more_there(farm):
    zones = [
        Zone(farm=FARM, house="tunnel 1", zone=name, plants=75, door=door, vent=False)
        for name, door in (("front", True), ("back", False))
    ]
    where = lambda number: "front" if number <= 20 else "back"  # noqa: E731

    def planned(front, back):
        walk, rows = counted("w", 2, [*front, *back], zone=where)
        return walk_plan(with_rows(farm, zones=zones, walks=[walk], counts=rows), "tunnel 1")

    many = planned([3] * 12 + [0] * 8, [0] * 18 + [2] * 2)
    even = planned([0] * 18 + [2] * 2, [0] * 18 + [2] * 2)
    assert many["edges"]["used"] > 2 > even["edges"]["used"]
    extra = [look for looks in many["passes"] for look in looks if look["kind"] == "edge"]
    assert {look["zone"] for look in extra} == {"front"}


def test_own_minutes_replace_the_judged_ones(farm):
    walk, rows = counted("slow", 2, [0] * 40, minutes=60.0)
    told = walk_plan(with_rows(farm, walks=[walk], counts=rows), "tunnel 1")["minutes"]
    assert told["own"] == 1.5
    assert told["prior"] < told["per_plant"] < 1.5


@pytest.fixture(scope="module")
def shared() -> tuple[Snapshot, dict]:
    """Two walked tunnels and one that never was."""
    known = a_farm(3)
    lines = tuple(row for row in known.rows["walk_lines"] if row.walk != "walk tunnel 3")
    walks = tuple(row for row in known.rows["walks"] if row.walk != "walk tunnel 3")
    known = dataclasses.replace(
        known, head="third not walked", rows={**known.rows, "walk_lines": lines, "walks": walks}
    )
    return known, walk_round(known, facts=None)


def test_the_house_that_was_never_walked_comes_first_and_in_full(shared):
    _, answer = shared
    assert satisfies(answer)
    first = answer["houses"][0]
    assert (first["house"], first["look"], first["why"]) == ("tunnel 3", "full", "no walk yet")
    assert answer["next_cutoff"].startswith("2026-05-07T12:00")
    assert "tunnel 3" in answer["sentence"]


def test_a_house_that_may_wait_is_told_until_when(shared):
    _, answer = shared
    waiting = [row for row in answer["houses"] if row["look"] == "wait"]
    assert {row["house"] for row in waiting} == {"tunnel 1", "tunnel 2"}
    for row in waiting:
        assert date(2026, 5, 4) < date.fromisoformat(row["by"]) <= date.fromisoformat(row["fresh_until"])


def test_minutes_are_never_overspent_and_who_gets_none_is_named(shared):
    known, _ = shared
    for minutes in (0.0, 3.0, 6.0, 60.0):
        answer = walk_round(known, minutes=minutes)
        assert answer["minutes_planned"] <= minutes
        look = answer["houses"][0]["look"]
        assert look == ("no time" if minutes < 5 else "full" if minutes > 30 else look)
        if look == "no time":
            assert any("No time is left for tunnel 3" in line for line in answer["cautions"])


def clean_walks(known: Snapshot, *walks) -> Snapshot:
    """Return the farm with only these walks of tunnel 1, (name, day, plants, options)."""
    rows = [
        Walk(walk=name, farm=FARM, house="tunnel 1", time=datetime(2026, 5, day, 9, tzinfo=UTC), unit="plant",
             **{"chosen": "random", **other})
        for name, day, _, other in walks
    ]  # fmt: skip
    lines = [WalkLine(walk=name, pest="any", looked_at=n, infested=0) for name, _, n, _ in walks]
    head = " ".join(f"{name}{day}{n}{sorted(other.items())}" for name, day, n, other in walks)
    return dataclasses.replace(
        known, head=head, rows={**known.rows, "walks": tuple(rows), "walk_lines": tuple(lines)}
    )


def test_repeated_and_fixed_plants_count_once_and_hunted_ones_not_at_all(farm):
    once = no_finds(clean_walks(farm, ("a", 3, 30, {})), "tunnel 1")
    assert satisfies(once)
    repeated = no_finds(clean_walks(farm, ("a", 2, 30, {}), ("b", 3, 30, {"repeats": "a"})), "tunnel 1")
    fixed = no_finds(
        clean_walks(farm, ("a", 2, 30, {"chosen": "fixed"}), ("b", 3, 30, {"chosen": "fixed"})), "tunnel 1"
    )
    assert once["looked_at"] == repeated["looked_at"] == fixed["looked_at"] == 30
    assert once["below_share"] == repeated["below_share"] == fixed["below_share"]
    two = no_finds(clean_walks(farm, ("a", 2, 30, {}), ("b", 3, 30, {})), "tunnel 1")
    assert two["looked_at"] == 60
    assert two["below_share"] < once["below_share"]
    assert two["walks"][0]["times_grown_since"] > 1
    with pytest.raises(OutpaceError, match="no walk without finds"):
        no_finds(clean_walks(farm, ("a", 3, 30, {"chosen": "hunted"})), "tunnel 1")


def test_more_aphids_on_a_plant_are_easier_to_exclude_and_the_sentence_never_says_free(farm):
    known = clean_walks(farm, ("a", 3, 40, {}))
    limits = [no_finds(known, "tunnel 1", at_least=n)["below_share"] for n in (1, 5, 50)]
    assert limits == sorted(limits, reverse=True)
    answer = no_finds(known, "tunnel 1")
    assert "free" not in json.dumps(answer)
    assert answer["up_to_plants"] <= answer["below_share"] * answer["plants_in_house"]


def test_a_scouts_eye_is_learned_from_double_counts_alone(farm):
    first, one = counted("first", 1, [4] * 20, scout="Ana")
    second, two = counted("second", 2, [4] * 8 + [0] * 12, scout="Bo", repeats="first")
    known = with_rows(farm, walks=[first, second], counts=[*one, *two])
    there = pick_farm(known)
    walks = [walks_of(known, there, pick_house(known, there, "tunnel 1"))]
    found = sampled.scouts_eyes(FACTS, walks)
    assert found["Bo"].mean < found["Ana"].mean
    assert (found["Bo"].plants, found["Ana"].plants) == (20, 8)
    assert isinstance(found["Ana"], Eye)
    alone = with_rows(farm, walks=[first], counts=one)
    assert sampled.scouts_eyes(FACTS, [walks_of(alone, there, pick_house(alone, there, "tunnel 1"))]) == {}


def test_now_is_the_day_of_the_plan(farm):
    assert walk_plan(farm, "tunnel 1")["as_of"].startswith(f"{NOW:%Y-%m-%d}")
