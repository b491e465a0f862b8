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


FIGURES = ("kill_pest", "kill_enemy", "residual_enemy")


@pytest.mark.parametrize("entered", [(), ("kill_pest",), ("kill_pest", "kill_enemy"), FIGURES])
def test_each_figure_that_was_not_entered_is_a_wide_band_and_each_entered_stands(entered):
    # by hand: an even draw of 400 over 0 to 1 leaves its ends within a few hundredths and its middle near a half
    told = {f"{name}_share": 0.4 for name in entered}
    case = house_case(snapshot(spray(**told)), FARM, HOUSE, members=400)
    [drawn] = case.sprays
    for name in FIGURES:
        values = getattr(drawn, name)
        if name in entered:
            assert values == 0.4
        else:
            assert 0 < values.min() < 0.05
            assert 0.95 < values.max() <= 1
            assert values.mean() == pytest.approx(0.5, abs=0.06)
    assert (drawn.kill_mummies <= drawn.kill_enemy).all()
    assert 0 < drawn.kill_mummies.min() < 0.05
    said = [line for line in case.cautions if "not entered" in line]
    assert len(said) == 1
    assert ("kill of aphids" in said[0]) is ("kill_pest" not in entered)
    assert "how long its residue lasts" in said[0]


def test_a_residue_that_kills_none_needs_no_length_and_a_whole_spray_says_nothing():
    none = {"kill_pest_share": 0.9, "kill_enemy_share": 0.2, "residual_enemy_share": 0.0}
    case = house_case(snapshot(spray(**none)), FARM, HOUSE, members=16)
    assert [line for line in case.cautions if "not entered" in line] == []


def test_the_same_spray_is_drawn_alike_each_time():
    first, second = (house_case(snapshot(spray()), FARM, HOUSE, members=50).sprays[0] for _ in range(2))
    assert (first.kill_enemy == second.kill_enemy).all()
