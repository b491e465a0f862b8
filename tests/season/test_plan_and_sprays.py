"""A plan keeps out of a house that a spray holds closed to releases; what is unknown holds."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from outpace.facts.table import load
from outpace.season.case import house_case
from outpace.season.offers import candidates, offers_for, packs_in_force
from outpace.terms.enemies import Pack
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Walk, WalkLine
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)
FARM = Farm(farm="F", latitude=52.0, longitude=0.0, time_zone="UTC", currency="EUR")
HOUSE = House(farm="F", house="H", crop="sweet pepper", area_m2=200.0, plants=500, planted=date(2026, 3, 1))
PACK = Pack(
    supplier="S",
    enemy="aphidius_colemani",
    form="mummies",
    pack_size=250,
    price=30.0,
    label_counts="units_in_pack",
    cutoff_weekday="Thu",
    delivery_weekday="Wed",
    lead_d=5,
)


def snapshot(*sprays):
    walk = Walk(
        walk="w",
        farm="F",
        house="H",
        time=NOW - timedelta(days=1),
        unit="plant",
        chosen="random",
        looked_at=20,
    )
    line = WalkLine(walk="w", pest="myzus_persicae", looked_at=20, infested=3, aphids_about=30)
    return Snapshot(
        as_of=NOW,
        head="x",
        rows={
            "farm": (FARM,),
            "houses": (HOUSE,),
            "packs": (PACK,),
            "walks": (walk,),
            "walk_lines": (line,),
            "sprays": sprays,
        },
    )


def offers(*sprays):
    known = snapshot(*sprays)
    case = house_case(known, FARM, HOUSE, members=16)
    packs = packs_in_force(known, case.day)
    found, _ = offers_for(case, packs, candidates(case, packs), use="light", floor=False, members=16)
    return found


def spray(**told):
    start = NOW - timedelta(hours=12)
    return Spray(spray="s", farm="F", house="H", start=start, end=start + timedelta(hours=1), **told)


def test_an_unsprayed_house_is_offered_each_delivery():
    # by hand: cut-off Thursday 7 May, five days on is Tuesday 12, so Wednesday 13, 20 and 27 May
    assert [str(offer.delivery) for offer in offers()] == ["2026-05-13", "2026-05-20", "2026-05-27"]


def test_nothing_is_offered_while_a_residue_is_not_known():
    assert offers(spray()) == ()


@pytest.mark.parametrize(("days", "first"), [(5, "2026-05-13"), (12, "2026-05-20")])
def test_an_entered_residue_holds_until_its_end_and_no_longer(days, first):
    told = {
        "kill_enemy_share": 0.5,
        "residual_enemy_share": 0.5,
        "residual_d": float(days),
        "reentry_h": 24.0,
    }
    assert str(offers(spray(**told))[0].delivery) == first


def test_an_unknown_residue_is_drawn_over_all_that_is_practised_and_none_is_zero():
    case = house_case(snapshot(spray()), FARM, HOUSE, members=400)
    longest = load().one("", "residue_longest").value
    [drawn] = case.sprays
    # an even draw of 400 over the whole range: its ends lie within a few hundredths of 0 and of the longest
    assert 0 < drawn.residual_d.min() < 0.05 * longest
    assert 0.95 * longest < drawn.residual_d.max() <= longest
