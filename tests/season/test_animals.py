"""Predators, ants and ragged holes in a farm's forecasts and plans."""

from __future__ import annotations

import dataclasses
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256

import numpy as np
import pytest

from outpace.estimation.forecast import look_ahead
from outpace.estimation.hyperparasitoids import share_taken
from outpace.facts.table import load
from outpace.season.case import house_case
from outpace.season.offers import candidates, offers_for, packs_in_force
from outpace.season.outlook import outlook
from outpace.terms.enemies import Lot, Pack, Release
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Count, Mummies, Seen, Walk
from outpace.terms.tables import TABLE_OF, Snapshot

NOW = datetime(2026, 5, 20, 9, tzinfo=UTC)
FARM = Farm(farm="Rope Walk", latitude=52.0, longitude=0.0, time_zone="UTC", currency="EUR")
HOUSE = House(
    farm="Rope Walk", house="H", crop="cucumber", area_m2=300.0, plants=400, floor="soil", planted=date(2026, 4, 1)
)  # fmt: skip
MIDGE, LACEWING, LADYBIRD, WASP = (
    "aphidoletes_aphidimyza", "chrysoperla_carnea", "adalia_bipunctata", "aphidius_colemani",
)  # fmt: skip


def walked(days_ago=1, per_plant=12, **shells):
    walk = Walk(
        walk="w", farm=FARM.farm, house="H", time=NOW - timedelta(days=days_ago), unit="plant", chosen="random",
        looked_at=10,
    )  # fmt: skip
    counts = [Count(walk="w", unit_no=n, pest="aphis_gossypii", aphids=str(per_plant)) for n in range(1, 11)]
    mummies = [Mummies(walk="w", unit_no=1, colour="tan", **shells)] if shells else []
    return [walk, *counts, *mummies]


def let_go(enemy, number, *, form, days_ago):
    lot = Lot(
        lot=enemy, enemy=enemy, form=form, label_counts="units_in_pack", labelled_number=number,
        arrived=NOW - timedelta(days=days_ago),
    )  # fmt: skip
    return [
        lot,
        Release(
            release=enemy, farm=FARM.farm, house="H", time=NOW - timedelta(days=days_ago), lot=enemy, number=number
        ),
    ]  # fmt: skip


def known(*rows, house=HOUSE):
    tables = {}
    for row in (FARM, house, *rows):
        tables.setdefault(TABLE_OF[type(row)], []).append(row)
    head = sha256(repr(tables).encode()).hexdigest()
    return Snapshot(as_of=NOW, head=head, rows={name: tuple(found) for name, found in tables.items()})


def held(*rows, house=HOUSE):
    return outlook(known(*rows, house=house), FARM, house, members=128)


def live_in(found, days=21):
    case = found.case
    bands = look_ahead(
        found.posterior, case.model, case.temperature.hours, case.let_go.releases, case.sprays, days
    )
    return float(np.median(bands.live(0)[-1]))


def test_larvae_that_were_let_go_lower_the_forecast():
    larvae = let_go(LACEWING, 30_000, form="larvae", days_ago=0)
    with_them, without = held(*walked(), *larvae), held(*walked())
    assert with_them.case.model.predators == (LACEWING,)
    assert with_them.case.model.enemies == ()
    assert not any("not counted" in line for line in with_them.case.cautions)
    assert live_in(with_them, 14) < 0.5 * live_in(without, 14)


def test_adult_ladybirds_fly_off_and_count_for_nothing():
    found = held(*walked(), *let_go(LADYBIRD, 5000, form="adults", days_ago=2))
    assert found.case.let_go.releases == ()
    assert len(found.case.let_go.told) == 1


def test_midges_are_forecast_with_the_floor_and_the_days_of_the_place():
    midges = let_go(MIDGE, 3000, form="pupae", days_ago=3)
    case = held(*walked(), *midges).case
    assert case.model.floor == "soft floor"
    assert case.model.latitude == 52.0
    assert case.model.day_of_year == case.first_day.timetuple().tm_yday
    untold = house_case(known(*walked(), *midges, house=dataclasses.replace(HOUSE, floor=None)), FARM,
                        dataclasses.replace(HOUSE, floor=None), members=16)  # fmt: skip
    assert any("floor of the house is not told" in line for line in untold.cautions)
    covered = dataclasses.replace(HOUSE, floor="concrete")
    assert (
        house_case(known(*walked(), house=covered), FARM, covered, members=16).model.floor == "covered floor"
    )


def pack_of(enemy, form):
    return Pack(
        supplier="S", enemy=enemy, form=form, pack_size=500, price=30.0, label_counts="units_in_pack",
        cutoff_weekday="Thu", delivery_weekday="Wed", lead_d=5,
    )  # fmt: skip


def test_predators_on_offer_can_be_planned_with():
    packs = [
        pack_of(LACEWING, "larvae"),
        pack_of(MIDGE, "pupae"),
        pack_of(LADYBIRD, "adults"),
        pack_of(WASP, "mummies"),
    ]
    snapshot = known(*walked(), *packs)
    case = house_case(snapshot, FARM, HOUSE, members=16)
    on_offer = packs_in_force(snapshot, case.day)
    ranked = candidates(case, on_offer)
    assert {item.enemy for item in ranked if item.fits} == {LACEWING, MIDGE, LADYBIRD, WASP}
    offers, _ = offers_for(case, on_offer, ranked, use="curative", floor=True, members=16)
    assert {case.model.agents[offer.enemy] for offer in offers} == {LACEWING, MIDGE, WASP}


def test_ants_lower_what_enemies_find():
    plain = held(*walked())
    ants = held(*walked(), Seen(walk="w", unit_no=1, organism="ants", number=3))
    looked_for = held(*walked(), Seen(walk="w", unit_no=1, organism="ants", number=0))
    assert ants.case.model.ants
    assert not plain.case.model.ants
    assert not looked_for.case.model.ants
    assert any(line.startswith("Ants were seen") for line in ants.case.cautions)


def test_ragged_holes_take_their_share_off_the_next_brood():
    wasps = let_go(WASP, 400, form="mummies", days_ago=25)
    shells = {"closed": 4, "empty_smooth": 8, "empty_ragged": 12, "empty_unread": 0}
    clean = held(*walked(**{**shells, "empty_smooth": 20, "empty_ragged": 0}), *wasps)
    holed = held(*walked(**shells), *wasps)
    smooth, ragged = (
        found.posterior.parameters.get("share_female", enemy=0).mean() for found in (clean, holed)
    )
    # 12 of 20 read: the exact 95 % interval is 36 to 81 %.
    assert 1 - ragged / smooth == pytest.approx(0.6, abs=0.12)
    assert any("hyperparasitised" in fact.quantity for fact in holed.posterior.facts)
    assert not any("hyperparasitised" in fact.quantity for fact in clean.posterior.facts)


def test_a_house_without_signs_is_near_zero_and_wide():
    share = share_taken(load(), 0, 0)
    # Source: hyperparasitised_share_without_signs, 0.02 with 0 to 0.25; practice.
    assert share.mean == pytest.approx(0.02, abs=0.005)
    assert share.quantile(0.95) > 0.08
