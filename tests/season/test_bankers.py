"""Banker plants: what is recorded, what is shown, what they give the forecast."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from outpace.errors import OutpaceError
from outpace.facts.table import load
from outpace.season.bankers import add_banker, banker_supply, banker_wasps, bankers_answer, withdraw_banker
from outpace.season.crop_ahead import crop_days, strips, zone_specs
from outpace.surfaces.text.banker import render
from outpace.terms.enemies import Banker
from outpace.terms.place import CropStage, Farm, House, Zone
from outpace.terms.tables import TABLE_OF, Snapshot

NOW = datetime(2026, 4, 20, 12, tzinfo=UTC)
FARM = Farm(farm="Coast", latitude=52.0, longitude=4.0, time_zone="UTC", currency="EUR")
HOUSE = House(farm="Coast", house="Long tunnel", crop="sweet_pepper", area_m2=500.0, plants=1200)


def known(*rows):
    tables: dict[str, tuple] = {TABLE_OF[Farm]: (FARM,), TABLE_OF[House]: (HOUSE,)}
    for row in rows:
        tables[TABLE_OF[type(row)]] = (*tables.get(TABLE_OF[type(row)], ()), row)
    return Snapshot(as_of=NOW, head="", rows=tables)


def pots(**more):
    return Banker(
        banker="first",
        farm="Coast",
        house="Long tunnel",
        plants=4,
        set_out=datetime(2026, 4, 1, tzinfo=UTC),
        **more,
    )


def supply(row, members=200):
    return banker_supply(
        known(row), load(), FARM, HOUSE, enemies=("aphidius_colemani",), zones=("whole house",), shares=[1.0],
        day_of=lambda when: (when - datetime(2026, 4, 1, tzinfo=UTC)).total_seconds() / 86400, last_day=90,
        members=members, seed=1,
    )  # fmt: skip


def test_bankers_give_wasps_from_their_start_to_their_end():
    found = supply(pots())
    days = np.array([release.day for release in found.releases])
    each = np.array([release.number * release.emergence for release in found.releases])
    # Source: facts, banker_start 3 to 28 d, banker_life 14 to 42 d, banker_wasps 10 a day; evidence practice.
    assert each[days < 2].sum() < 0.05 * each.sum()
    assert days.max() < 90
    assert np.median(each.max(axis=0)) == pytest.approx(40, rel=0.35)
    assert {fact.quantity for fact in found.facts} == {"banker_wasps", "banker_start", "banker_life"}


def test_withdrawn_bankers_give_none():
    found = supply(pots(withdrawn_on=datetime(2026, 4, 16, tzinfo=UTC)))
    assert max(release.day for release in found.releases) < 15
    assert sum(r.number * r.emergence.sum() for r in found.releases) < sum(
        r.number * r.emergence.sum() for r in supply(pots()).releases
    )


def test_only_wasps_that_live_well_on_the_cereal_aphid_come_from_bankers():
    # Source: Aphidius colemani on Rhopalosiphum padi; facts, host_match 2; evidence read.
    assert banker_wasps(load()) == ("aphidius_colemani",)


def test_bankers_are_shown_with_their_days_and_told_what_they_carry():
    answer = bankers_answer(known(pots()), "long tunnel")
    (row,) = answer["bankers"]
    assert row["wasps_from"][0] < row["wasps_until"][0] < row["withdraw_by"] == "2026-07-01"
    assert row["renew_by"] == "2026-04-15"
    assert len(answer["densities"]) == 4
    text = render(answer)
    assert "cereal aphid" in text
    assert max(len(line) for line in text.splitlines()) <= 80
    south = Farm(farm="Coast", latitude=-35.0, longitude=4.0, time_zone="UTC", currency="EUR")
    there = bankers_answer(
        Snapshot(as_of=NOW, head="", rows=dict(known(pots()).rows) | {TABLE_OF[Farm]: (south,)})
    )
    assert there["bankers"][0]["withdraw_by"].startswith(("2026-12", "2027-01"))


def test_bankers_are_set_out_and_taken_out():
    entered = add_banker(known(), "Long tunnel", 4, set_out="2026-04-19", name="first", now=NOW)
    assert entered.rows[0].plants == 4
    gone = withdraw_banker(known(*entered.rows), "first", on="2026-04-20", now=NOW)
    assert gone.rows[0].withdrawn_on is not None
    with pytest.raises(OutpaceError, match="no bankers"):
        withdraw_banker(known(), "first", now=NOW)


def test_the_crop_is_read_as_it_was_written_down():
    stages = tuple(
        CropStage(
            farm="Coast", house="Long tunnel", time=datetime(2026, 4, day, tzinfo=UTC), leaves_per_plant=leaves,
            leaves_removed_share=removed,
        )
        for day, leaves, removed in ((1, 20.0, None), (11, 40.0, 0.25))
    )  # fmt: skip
    day_of = lambda when: float((when - datetime(2026, 4, 1, tzinfo=UTC)).days)  # noqa: E731
    assert [(row.day, row.leaves) for row in crop_days(stages, 40.0, day_of)] == [(0.0, 0.5), (10.0, 1.0)]
    assert [(row.day, row.share) for row in strips(stages, HOUSE, day_of)] == [(10.0, 0.25)]
    other = Zone(farm="Coast", house="Long tunnel", zone="back", crop="cucumber")
    usual = Zone(farm="Coast", house="Long tunnel", zone="front")
    specs = {spec.name: spec for spec in zone_specs(known(other, usual), load(), HOUSE)}
    assert specs["back"].crop == "cucumber"
    assert specs["back"].leaf_area_m2 is not None
    assert specs["front"].crop is None
