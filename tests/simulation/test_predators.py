"""Predators: appetites, broods, rest in short days, floors, and what they do to wasps."""

from __future__ import annotations

import dataclasses
from dataclasses import replace

import numpy as np
import pytest
from tests.simulation.houses import UNBOUNDED, beginning, house, plain, steady

from outpace.simulation.model import Release
from outpace.simulation.run import run

MIDGE, LACEWING, LADYBIRD = "aphidoletes_aphidimyza", "chrysoperla_carnea", "adalia_bipunctata"


def plenty(predator, *, degc, days, form="larvae", pest="aphis_gossypii", per_plant=1e4, rows=(), **more):
    """A house where a few larvae have prey without end, and no larva is lost."""
    model = house((pest,), enemies=(), predators=(predator,), **more)
    parameters = plain(model, **UNBOUNDED, thermal_constant=1e9, life=1e9)  # prey stands still
    agent = 0
    for name in ("larva_loss", "immature_death", "starving_loss"):
        parameters = parameters.set(name, 0.0, enemy=agent)
    parameters = parameters.set("lot_emergence", 1.0, enemy=agent).set("lot_share_female", 1.0, enemy=agent)
    for name, value in rows:
        parameters = parameters.set(name, value, enemy=agent)
    state = beginning(model, parameters, per_plant)
    release = Release(day=0.0, enemy=agent, zone=0, number=100.0, form=form)
    return run(
        model, parameters, state, steady(degc, days), first_day=0, days=days, releases=[release], noise=False
    )  # fmt: skip


@pytest.mark.parametrize("predator", [LACEWING, LADYBIRD, MIDGE])
@pytest.mark.parametrize("degc", [18.0, 25.0])
def test_a_larva_that_never_lacks_prey_eats_its_published_number(predator, degc):
    # Source: prey_per_larva of the facts, Chrysoperla carnea 292 and 273 oldest nymphs in two trials (read), 280 the
    # default between; Adalia and the midge practice. All prey is made worth one oldest nymph, so that numbers can be
    # compared; a larva grows faster in warmth and eats as much in less time.
    model = house(("aphis_gossypii",), enemies=(), predators=(predator,))
    parameters = plain(model, **UNBOUNDED, thermal_constant=1e9, life=1e9)  # prey stands still
    for name in ("larva_loss", "immature_death", "starving_loss", "floor_survival"):
        parameters = parameters.set(name, 0.0, enemy=0)
    parameters = parameters.set("lot_emergence", 1.0, enemy=0)
    hunters = parameters.shared.hunters
    even = hunters._replace(worth=np.ones_like(hunters.worth))
    parameters = replace(parameters, shared=parameters.shared._replace(hunters=even))
    # Let go at noon: a day's meals follow the larvae of its midnight, so that half a day is lost and half won.
    result = run(
        model, parameters, beginning(model, parameters, 1e4), steady(degc, 35), first_day=0, days=35, noise=False,
        releases=[Release(0.5, 0, 0, 100.0, "larvae")],
    )  # fmt: skip
    per_larva = result.pest_ledger["eaten"].sum() / 100.0
    assert per_larva == pytest.approx(parameters.get("prey_per_larva", enemy=0)[0], rel=0.03)


def test_most_is_eaten_in_the_last_stage():
    # Source: L3 78 to 84 % of all that a lacewing larva eats, L1 4 to 7, L2 12 to 17; evidence read.
    shared = plain(house(enemies=(), predators=(LACEWING,))).shared.hunters.prey_share[0]
    assert shared.sum() == pytest.approx(1.0)
    assert 0.78 <= shared[2] <= 0.84
    assert 0.04 <= shared[0] <= 0.07


@pytest.mark.parametrize(("degc", "days"), [(20.0, 20.4), (25.0, 15.0)])
def test_a_midge_takes_the_published_days_from_egg_to_adult(degc, days):
    # Source: Havelka 1980, stage equations summed; evidence read. The whole-cycle equation gives 20.3 and 14.9.
    result = plenty(MIDGE, degc=degc, days=40, form="eggs", rows=[("adult_loss", 0.0), ("eggs", 0.0)])
    young = sum(result.predators[kind][:, 0, 0, 0] for kind in ("eggs", "larvae", "pupae"))
    young[0] = 100.0  # let go at that midnight
    assert np.trapezoid(young) / 100.0 == pytest.approx(days, rel=0.03)


def test_a_midge_lays_more_where_prey_is_dense():
    # Source: 50 eggs at 5 prey a day, 104 at 80; evidence read. Here eggs follow the aphids on a leaf, and below a
    # colony few are laid at all, so the rise is steeper.
    laid = [
        plenty(
            MIDGE, degc=23, days=9, form="adults", per_plant=60.0 * on_leaf, rows=[("adult_loss", 0.0)]
        ).predator_ledger["laid"].sum() / 100.0
        for on_leaf in (0.2, 5.0, 80.0, 400.0)
    ]  # fmt: skip
    assert laid == sorted(laid)
    assert laid[1] < 0.65 * laid[2]
    assert laid[3] == pytest.approx(95.0, rel=0.1)  # eggs of a fed female, MidgeEggs, derived


def rest_of(degc, night, hours, latitude, day_of_year, **rows):
    model = house(
        ("aphis_gossypii",), enemies=(), predators=(MIDGE,), latitude=latitude, day_of_year=day_of_year
    )
    parameters = plain(model, **UNBOUNDED)
    for name, value in rows.items():
        parameters = parameters.set(name, value, enemy=0)
    heat = np.where(np.abs(np.arange(24 * 30) % 24 + 0.5 - 12) > hours / 2, night, degc)[:, None]
    state = beginning(model, parameters, 50.0)
    state[parameters.layout(model).find("L3", enemy=0, zone=0).first] = 100.0
    book = run(model, parameters, state, heat, first_day=0, days=25, noise=False).predator_ledger
    grown = book["rested"].sum() + book["fell"].sum() + book["males"].sum()
    return book["rested"].sum() / grown


def test_midges_go_to_rest_in_short_days_but_not_in_warm_ones():
    # Source: Yamane 2012, a Japanese strain: critical day length 12.7 h at 20 °C; all rest at 12.7 h with nights of
    # 16 °C, none at 30 °C; evidence read. 40 degrees north: 12.7 h on about the 90th and the 255th day.
    strain = {"critical_day_length": 12.7}
    autumn = {"latitude": 40.0, "day_of_year": 255}
    assert rest_of(20.0, 16.0, 12.6, **autumn, **strain) > 0.9
    assert rest_of(25.0, 16.0, 12.6, **autumn, **strain) > 0.9
    assert rest_of(30.0, 30.0, 12.6, **autumn, **strain) < 0.1
    assert rest_of(20.0, 20.0, 16.0, latitude=40.0, day_of_year=160, **strain) < 0.01
    assert (
        rest_of(20.0, 16.0, 12.6, latitude=-40.0, day_of_year=70, **strain) > 0.8
    )  # autumn comes in March there


def midges_over_time(floor, days=90):
    model = house(("aphis_gossypii",), enemies=(), predators=(MIDGE,), crop="cucumber", floor=floor)
    rows = {"winged_least": 0.0, "winged_more": 0.0, "immigration": 0.0}
    parameters = plain(model, **rows)
    state = beginning(model, parameters, 300.0)
    result = run(
        model, parameters, state, steady(22, days), first_day=0, days=days, noise=False,
        releases=[Release(0.5, 0, 0, 300.0, "pupae")],
    )  # fmt: skip
    return sum(result.predators[kind][:, 0, 0, 0] for kind in result.predators)


def test_a_midge_without_a_soft_floor_fades():
    # Source: Sato 1998, vinyl house with mulch: midges stayed scarce after four releases; evidence read.
    soft, covered = midges_over_time("soft floor"), midges_over_time("covered floor")
    assert covered[60:].max() < 0.3 * covered[:40].max()
    assert soft[60:].max() > 10 * covered[60:].max()


def test_dry_air_dries_a_soft_floor():
    # Source: floor_humidity and immature_survival of the facts, practice; Sato 1998 (read) for a dry floor.
    model = house(("aphis_gossypii",), enemies=(), predators=(MIDGE,), floor="soft floor")
    alive = [
        plain(dataclasses.replace(model, humidity=humidity)).get("floor_survival", enemy=0)[0]
        for humidity in (None, 90.0, 65.0, 30.0)
    ]
    assert alive[0] == alive[1] == 1.0
    assert alive[1] > alive[2] > alive[3]
    dry = plain(dataclasses.replace(model, floor="dry floor")).get("floor_survival", enemy=0)[0]
    assert alive[3] == pytest.approx(dry)


def test_lacewings_do_not_stay():
    result = plenty(LACEWING, degc=24, days=40)
    assert result.predator_ledger["grown"].sum() == pytest.approx(100.0, rel=0.01)
    assert result.predators["larvae"][-1].sum() < 1e-3
    assert result.predator_ledger["laid"].sum() == 0.0


def test_predators_cost_the_wasps_their_young():
    model = house(predators=(LADYBIRD,))
    parameters = plain(model)
    state = beginning(model, parameters, 5.0)
    releases = [Release(0.4, 0, 0, 400.0, "adults")]
    alone = run(
        model, parameters, state, steady(21, 24), first_day=0, days=24, releases=releases, noise=False
    )
    with_them = run(
        model, parameters, state, steady(21, 24), first_day=0, days=24, noise=False,
        releases=[*releases, Release(4.4, 1, 0, 4000.0, "larvae")],
    )  # fmt: skip
    assert with_them.aphids[12].sum() < 0.8 * alone.aphids[12].sum()
    assert with_them.enemy_ledger["mummies_eaten"].sum() > 0
    assert with_them.enemy_ledger["formed"].sum() < 0.9 * alone.enemy_ledger["formed"].sum()


def test_a_midge_misses_the_aphid_it_seldom_finds():
    # Source: eggs go to new growth, so low-sitting Aulacorthum solani is missed (Jandricic 2016); evidence read.
    accepted = plain(
        house(("aphis_gossypii", "aulacorthum_solani"), enemies=(), predators=(MIDGE,))
    ).shared.hunters.accepted[0]
    assert accepted[1] < 0.5 * accepted[0]


@pytest.mark.parametrize("steps", [4, 24])
def test_what_predators_eat_does_not_depend_on_the_step(steps):
    def eaten(at):
        model = house(("aphis_gossypii",), enemies=(), predators=(LACEWING,))
        parameters = plain(model, **UNBOUNDED)
        state = beginning(model, parameters, 40.0)
        state[parameters.layout(model).find("L3", enemy=0, zone=0).first] = 5000.0
        result = run(
            model, parameters, state, steady(6.0, 1), first_day=0, days=1, noise=False, steps_per_day=at
        )  # fmt: skip
        return result.pest_ledger["eaten"].sum() / result.aphids[0].sum()

    assert eaten(steps) == pytest.approx(eaten(48), rel=1e-2)


def test_a_house_without_predators_gives_the_same_numbers_as_one_where_none_was_let_go():
    without, idle = house(), house(predators=(MIDGE, LACEWING))
    runs = []
    for model in (without, idle):
        parameters = plain(model, 8, seed=5, spread=True)
        state = beginning(model, parameters, 5.0, calm=False)
        runs.append(
            run(
                model, parameters, state, steady(20, 15), first_day=0, days=15, seed=3,
                releases=[Release(1.4, 0, 0, 400.0)],
            )
        )  # fmt: skip
    assert np.array_equal(runs[0].aphids, runs[1].aphids)
    assert np.array_equal(runs[0].mummies_closed, runs[1].mummies_closed)
