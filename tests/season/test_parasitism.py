"""What mummies of a house say, and when they say nothing."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime

import pytest
from scipy.stats import binomtest
from tests.season.test_walk_plan import FARM, counted
from tests.season.tunnels import WASP, a_farm

from outpace.season.names import pick_farm, pick_house
from outpace.season.observed import taken_signs
from outpace.season.outlook import outlook
from outpace.season.parasitism import parasitism
from outpace.terms.enemies import Check, Lot, Release
from outpace.terms.place import CropStage
from outpace.terms.scouting import Mummies, Seen
from outpace.terms.tables import Snapshot


def at(month: int, day: int) -> datetime:
    return datetime(2026, month, day, 9, tzinfo=UTC)


def house(
    *, released=(4, 6), closed=(0,) * 10, ragged=0, smooth=0, colour="tan", rows=None, **walk
) -> Snapshot:
    """Return a tunnel with a release, a walk of ten plants with mummies, and maybe more rows."""
    known = a_farm(1)
    seen, counts = counted("w", 3, [5] * 10, **walk)
    shells = tuple(
        Mummies(
            walk="w",
            unit_no=number,
            colour=colour,
            closed=mummies,
            empty_smooth=smooth if number == 1 else 0,
            empty_ragged=ragged if number == 1 else 0,
        )
        for number, mummies in enumerate(closed, 1)
    )
    lot = Lot(lot="L1", enemy=WASP, form="mummies", label_counts="adults_expected", labelled_number=500,
              arrived=at(*released))  # fmt: skip
    let_go = Release(release="R1", farm=FARM, house="tunnel 1", time=at(*released), lot="L1", number=500)
    more = {"walks": (seen,), "walk_lines": (), "counts": tuple(counts), "mummies": shells, "lots": (lot,),
            "releases": (let_go,)}  # fmt: skip
    head = f"{released} {closed} {ragged} {smooth} {colour} {sorted(walk.items())} {sorted(rows or {})}"
    return dataclasses.replace(known, head=head, rows={**known.rows, **more, **(rows or {})})


def block_of(known: Snapshot) -> dict:
    there = pick_farm(known)
    return parasitism(outlook(known, there, pick_house(known, there, "tunnel 1"), members=128))


def test_mummies_beside_live_aphids_give_a_visible_and_a_whole_share():
    (row,) = block_of(house(closed=(1, 0, 2, 0, 0, 3, 0, 1, 0, 0)))["samples"]
    assert (row["closed"], row["live"], row["plants"], row["cannot_tell"]) == (7, 50, 10, None)
    assert row["visible"]["share"] == pytest.approx(7 / 57, abs=1e-4)
    assert row["visible"]["low"] < row["visible"]["share"] < row["visible"]["high"]
    assert row["parasitised"]["share"] > row["visible"]["share"]
    assert row["days_alive_after_sting"] > row["days_as_mummy"] > 0
    assert "not visible yet" in row["sentence"]


def test_no_mummies_soon_after_a_release_say_nothing():
    (row,) = block_of(house(released=(4, 30)))["samples"]
    assert "nothing can be seen yet" in row["cannot_tell"]
    assert row["parasitised"] is None


def test_no_mummies_long_after_a_release_say_something():
    (row,) = block_of(house(released=(3, 15)))["samples"]
    assert row["cannot_tell"] is None
    assert row["visible"]["share"] == 0.0
    assert 0 < row["visible"]["high"] < 0.3


def test_hunted_plants_and_plants_without_their_old_leaves_cannot_tell():
    closed = (1, 0, 2, 0, 0, 3, 0, 1, 0, 0)
    (hunted,) = block_of(house(closed=closed, chosen="hunted"))["samples"]
    assert "hunted" in hunted["cannot_tell"]
    assert hunted["visible"] is None
    stripped = CropStage(farm=FARM, house="tunnel 1", time=at(5, 1), leaves_removed_share=0.3)
    (bare,) = block_of(house(closed=closed, rows={"crop_stages": (stripped,)}))["samples"]
    assert "old leaves" in bare["cannot_tell"]


def test_holes_are_read_in_tan_mummies_only():
    holes = block_of(house(closed=(1,) * 10, ragged=4, smooth=16))["holes"]
    assert (holes["ragged"], holes["read"], holes["share"]) == (4, 20, 0.2)
    black = block_of(house(closed=(1,) * 10, ragged=9, smooth=1, colour="black"))["holes"]
    assert (black["read"], black["share"]) == (0, None)
    assert "black mummies cannot tell" in black["messages"][0]


def test_a_jar_of_a_lot_tells_hyperparasitoids_with_its_interval():
    jar = Check(lot="L1", time=at(4, 20), kind="jar", looked_at=50, positive=40, ragged=4)
    plain = Check(lot="L1", time=at(4, 21), kind="emergence", looked_at=50, positive=40, ragged=4)
    (told,) = block_of(house(closed=(1,) * 10, rows={"checks": (jar, plain)}))["jars"]
    assert (told["ragged"], told["read"], told["share"]) == (4, 40, 0.1)
    # Source: exact binomial interval of 4 of 40, computed.
    assert (told["low"], told["high"]) == pytest.approx((0.0279, 0.2366), abs=1e-4)


def test_a_jar_of_the_crops_own_mummies_tells_what_took_them():
    jar = (
        Seen(walk="w", unit_no=1, organism="mummies", stage="in jar", number=40),
        Seen(walk="w", unit_no=1, organism=WASP, stage="from jar", number=18),
        Seen(walk="w", unit_no=1, organism="wasps", stage="From jar", number=4),
        Seen(walk="w", unit_no=1, organism="hyperparasitoids", stage="from jar", number=6),
        Seen(walk="w", unit_no=1, organism="hoverfly", stage="larva", number=3),
    )
    known = house(closed=(1,) * 10, smooth=8, ragged=1, rows={"seen": jar})
    block = block_of(known)
    (told,) = block["crop_jars"]
    assert (told["put_in"], told["came_out"], told["hyperparasitoids"]) == (40, 28, 6)
    assert told["emerged"] == 0.7
    # Source: exact binomial interval of 6 of 28, by scipy.
    ends = binomtest(6, 28).proportion_ci(0.95, method="exact")
    assert (told["low"], told["high"]) == pytest.approx((ends.low, ends.high), abs=1e-4)
    # Holes stay holes; both speak of the share that is taken.
    assert (block["holes"]["read"], block["holes"]["ragged"]) == (9, 1)
    there = pick_farm(known)
    rows = outlook(known, there, pick_house(known, there, "tunnel 1"), members=128).case.rows
    assert taken_signs(rows, at(1, 1)) == (9 + 28, 1 + 6)


def test_a_jar_of_which_nothing_came_out_yet_says_nothing():
    jar = (Seen(walk="w", unit_no=1, organism="mummies", stage="in jar", number=40),)
    assert block_of(house(closed=(1,) * 10, rows={"seen": jar}))["crop_jars"] == []
