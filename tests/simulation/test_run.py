"""Runs as a whole: books that close, threads and blocks, luck, what is refused."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.simulation.houses import beginning, house, plain, steady, swinging

from outpace.simulation import kernel
from outpace.simulation.layout import PREDATOR_BLOCKS
from outpace.simulation.ledger import PEST_GAINS, PEST_LOSSES, PREDATOR_GAINS, PREDATOR_LOSSES
from outpace.simulation.model import HouseModel, Release, Spray, Strip, ZoneSpec
from outpace.simulation.run import choose_steps, run
from outpace.simulation.step_order import STEP_ORDER

TWO = house(
    ("myzus_persicae", "aphis_gossypii"),
    ("aphidius_colemani", "aphidius_ervi"),
    zones=((300.0, 700.0), (100.0, 250.0)),
)


def pest_gap(result):
    """How far the books of the aphids are from closing, relative to all that passed through them."""
    gains = sum(result.pest_ledger[cause] for cause in PEST_GAINS)
    losses = sum(result.pest_ledger[cause] for cause in PEST_LOSSES)
    through = result.aphids[0] + gains + result.aphids[-1] + 1.0
    return np.abs(result.aphids[0] + gains - losses - result.aphids[-1]) / through


def enemy_gaps(result, before, after, layout):
    """The same for mummies, and for females with those in carriers."""
    book = result.enemy_ledger
    formed = book["formed"] - book["hatched"] - book["died_in_mummy"]
    formed = formed - book["mummies_eaten"] - book["mummies_removed"] - book["hyperparasitised"]
    formed = formed - book["rested"]
    young = book["hyperparasitised"] - book["hyper_hatched"] - book["hyper_died"]
    young = young - book["hyper_eaten"] - book["hyper_removed"]
    shells = ("shells", "ragged_shells") if len(result.hyperparasitoids[0]) else ("shells",)
    gaps = []
    for e, z in np.ndindex(formed.shape[:2]):

        def grown(name, e=e, z=z):
            block = layout.find(name, enemy=e, zone=z)
            return after[block.rows].sum(axis=0) - before[block.rows].sum(axis=0)

        gaps.append(formed[e, z] + book["mummies_rounded"][e, z] - grown("mummies"))
        dead = book["died_in_mummy"] + book["hatched"] - book["fallen"]
        dead = dead + book["hyper_died"] + book["hyper_hatched"] + book["rested"]
        gaps.append(dead[e, z] - grown("dead_mummies") - sum(grown(name) for name in shells))
        held = [grown(f"hyper_young_{h}") for h in range(len(result.hyperparasitoids[0]))]
        gaps.append(young[e, z] - sum(held))
        females = sum(book[cause][e, z] for cause in ("released", "emerged", "went", "females_rounded"))
        gone = sum(
            book[cause][e, z] for cause in ("lost", "aged", "poisoned", "died_in_carrier", "taken_out")
        )
        gaps.append(females - gone - grown("females") - grown("carrier"))
    return np.abs(gaps) / (1.0 + book["formed"].max() + book["released"].max())


def predator_gap(result, before):
    """The same for predators, eggs to adults and those in carriers together."""
    book = result.predator_ledger
    came = sum(book[cause] for cause in PREDATOR_GAINS) - sum(book[cause] for cause in PREDATOR_LOSSES)
    layout = HUNTED_PARAMETERS.layout(HUNTED)
    grown = np.zeros_like(came)
    for d, z in np.ndindex(came.shape[:2]):
        for name in PREDATOR_BLOCKS:
            block = layout.find(name, enemy=len(HUNTED.enemies) + d, zone=z)
            grown[d, z] += result.state[block.rows].sum(axis=0) - before[block.rows].sum(axis=0)
    return np.abs(came - grown) / (1.0 + book["released"].max() + book["laid"].max())


def hyper_gap(result):
    """The same for females of hyperparasitoids."""
    book = result.hyper_ledger
    came = sum(book[cause] for cause in ("came", "emerged", "moved"))
    gone = sum(book[cause] for cause in ("lost", "poisoned", "taken_out"))
    grown = result.hyperparasitoids[-1] - result.hyperparasitoids[0]
    return np.abs(came - gone - grown) / (1.0 + book["came"].max() + book["emerged"].max())


HUNTED = house(
    ("myzus_persicae", "aphis_gossypii"),
    ("aphidius_colemani",),
    zones=((300.0, 700.0), (100.0, 250.0)),
    predators=("aphidoletes_aphidimyza", "chrysoperla_carnea", "adalia_bipunctata"),
    latitude=52.0,
    day_of_year=240,
    hyperparasitoids=("dendrocerus", "asaphes"),
    strips=(Strip(9.3, 0.2), Strip(12.6, 0.5, zone=1, crop=True)),
)
HUNTED_PARAMETERS = plain(HUNTED, 4, seed=3, spread=True)


@settings(max_examples=15, deadline=None)
@given(
    degc=st.floats(2.0, 38.0),
    per_plant=st.floats(0.0, 400.0),
    number=st.floats(0.0, 1e6),
    kill=st.floats(0.0, 1.0),
    form=st.sampled_from(["larvae", "eggs", "pupae", "adults"]),
    few=st.sampled_from([0.0, 16.0]),
)
def test_every_animal_is_accounted_for_where_predators_hunt(degc, per_plant, number, kill, form, few):
    state = beginning(HUNTED, HUNTED_PARAMETERS, per_plant, calm=False)
    result = run(
        HUNTED, HUNTED_PARAMETERS, state, swinging(degc, 14), first_day=0, days=14, seed=4, small_numbers=few,
        releases=[
            *(Release(1.2, e, e % 2, number, "mummies" if e == 0 else form) for e in range(4)),
            *(Release(2.0 + e, e, e % 2, number / 100.0, "adults") for e in (4, 5)),
        ],
        sprays=[Spray(6.5, 0, kill, kill, kill, 3.0, kill_mummies=kill)],
    )  # fmt: skip
    layout = HUNTED_PARAMETERS.layout(HUNTED)
    assert pest_gap(result).max() < 1e-9
    assert enemy_gaps(result, state, result.state, layout).max() < 1e-9
    assert predator_gap(result, state).max() < 1e-9
    assert hyper_gap(result).max() < 1e-9
    luck = [row for first in layout.rows.luck for row in (first, first + 1)]
    assert (np.delete(result.state, luck, axis=0) >= 0).all()


@settings(max_examples=25, deadline=None)
@given(
    degc=st.floats(2.0, 36.0),
    swing=st.floats(0.0, 9.0),
    per_plant=st.one_of(st.floats(0.0, 0.1), st.floats(0.0, 400.0)),
    number=st.one_of(st.floats(0.0, 50.0), st.floats(0.0, 20000.0)),
    kill=st.floats(0.0, 1.0),
    seed=st.integers(0, 2**32),
    few=st.sampled_from([0.0, 16.0]),
)
def test_every_animal_is_accounted_for(degc, swing, per_plant, number, kill, seed, few):
    parameters = plain(TWO, 4, seed=seed, spread=True)
    state = beginning(TWO, parameters, per_plant, seed=seed, calm=False)
    result = run(
        TWO, parameters, state, swinging(degc, 12, swing), first_day=0, days=12, seed=seed, small_numbers=few,
        releases=[Release(1.3, 0, 0, number), Release(2.6, 1, 1, number, "adults")],
        sprays=[Spray(5.5, 0, kill, kill, kill, 3.0), Spray(7.0, None, 0.1, 0.2, 0.1, 2.0)],
    )  # fmt: skip
    assert pest_gap(result).max() < 1e-9
    assert enemy_gaps(result, state, result.state, parameters.layout(TWO)).max() < 1e-9
    luck = [row for first in parameters.layout(TWO).rows.luck for row in (first, first + 1)]
    assert (np.delete(result.state, luck, axis=0) >= 0).all()
    assert result.pest_ledger["moved"].sum(axis=1) == pytest.approx(0.0, abs=1e-6)


def one_run(**how):
    parameters = plain(TWO, 50, seed=5, spread=True)
    state = beginning(TWO, parameters, 3.0, calm=False)
    how = {"days": 10, "first_day": 0, "seed": 9} | how
    return run(TWO, parameters, state, swinging(20, 30), releases=[Release(1.3, 0, 0, 900)], **how)


@pytest.mark.parametrize(("threads", "block"), [(1, 128), (1, 7), (2, 16), (3, 1), (2, 25)])
def test_results_do_not_depend_on_threads_or_blocks(threads, block):
    whole, other = one_run(threads=2, block=64), one_run(threads=threads, block=block)
    assert np.array_equal(whole.state, other.state)
    assert np.array_equal(whole.aphids, other.aphids)
    assert all(
        np.array_equal(whole.pest_ledger[cause], other.pest_ledger[cause]) for cause in whole.pest_ledger
    )


def test_a_run_in_two_parts_equals_the_run_in_one():
    parameters = plain(TWO, 6, seed=5, spread=True)
    state = beginning(TWO, parameters, 3.0, calm=False)
    heat = swinging(21, 12)
    deeds = {
        "releases": [Release(1.3, 0, 0, 900), Release(8.2, 1, 1, 300, "adults")],
        "sprays": [Spray(4.5, None, 0.3, 0.5, 0.2, 6.0)],
        "seed": 4,
    }
    whole = run(TWO, parameters, state, heat, first_day=0, days=12, **deeds)
    first = run(TWO, parameters, state, heat, first_day=0, days=5, **deeds)
    second = run(TWO, parameters, first.state, heat, first_day=5, days=7, **deeds)
    assert np.array_equal(whole.state, second.state)
    assert np.array_equal(whole.aphids[5:], second.aphids)


def test_the_same_seed_gives_the_same_luck_and_another_seed_another():
    assert np.array_equal(one_run().state, one_run().state)
    assert not np.array_equal(one_run().aphids[-1], one_run(seed=10).aphids[-1])


def test_two_plans_on_one_seed_differ_only_after_they_differ():
    parameters = plain(TWO, 6, seed=5, spread=True)
    state = beginning(TWO, parameters, 3.0, calm=False)
    bare, planned = (
        run(TWO, parameters, state, swinging(20, 20), first_day=0, days=20, releases=releases, seed=3)
        for releases in ([], [Release(7.0, 0, 0, 5000, "adults")])
    )
    assert np.array_equal(bare.aphids[:8], planned.aphids[:8])
    assert (planned.aphids[-1, 0] < bare.aphids[-1, 0]).all()


def test_growth_swings_widen_the_forecast_as_the_facts_say():
    model = house(enemies=())
    parameters = plain(model, 600, ceiling=1e15, immigration=0.0, winged_least=0.0, winged_more=0.0)
    state = beginning(model, parameters, 1.0, calm=False)
    result = run(model, parameters, state, steady(20, 35), first_day=0, days=35, seed=2)
    spread = np.log(result.aphids[:, 0, 0]).std(axis=1)
    # Source: row process_sd_per_sqrt_week for growth, 0.55 per √week; evidence practice; met on the whole.
    assert spread[35] == pytest.approx(0.55 * np.sqrt(5.0), rel=0.35)


def test_without_noise_all_members_of_one_kind_stay_together():
    model = house()
    parameters = plain(model, 5)
    state = beginning(model, parameters, 2.0)
    result = run(model, parameters, state, steady(20, 10), first_day=0, days=10, noise=False)
    assert np.ptp(result.aphids[-1]) == 0


def test_zones_mix_slowly_and_lose_nobody():
    parameters = plain(TWO, 1)
    per_plant = np.array([[[40.0], [0.0]], [[0.0], [0.0]]])
    state = beginning(TWO, parameters.set("immigration", 0.0, pest=0), per_plant)
    result = run(
        TWO,
        parameters.set("immigration", 0.0, pest=0),
        state,
        steady(20, 20),
        first_day=0,
        days=20,
        noise=False,
    )
    assert result.aphids[-1, 0, 1].sum() > 0
    assert result.pest_ledger["moved"][0].sum() == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"temperature": np.full((24, 1), 20.0)}, "covers 24 h"),
        ({"temperature": np.full((240, 3), 20.0)}, "must be"),
        ({"temperature": np.full((240, 1), np.nan)}, "gaps"),
        ({"state": np.zeros((3, 1))}, "state has shape"),
        ({"steps_per_day": 7}, "divide 24"),
        ({"steps_per_day": 1}, "too coarse"),
        ({"days": -1}, "not be below 0"),
    ],
)
def test_what_does_not_fit_is_refused(change, says):
    model = house()
    parameters = plain(model)
    arguments = {
        "state": beginning(model, parameters),
        "temperature": steady(20, 10),
        "first_day": 0,
        "days": 10,
    } | change
    with pytest.raises(ValueError, match=says):
        run(model, parameters, **arguments)


@pytest.mark.parametrize(
    "make",
    [
        lambda: ZoneSpec("bay", 0.0, 10.0),
        lambda: HouseModel("lettuce", (), ("myzus_persicae",), (), 20.0, 0.1),
        lambda: HouseModel("lettuce", (ZoneSpec("a", 1.0, 1.0),) * 2, ("myzus_persicae",), (), 20.0, 0.1),
        lambda: HouseModel("lettuce", (ZoneSpec("a", 1.0, 1.0),), ("myzus_persicae",), (), 0.0, 0.1),
    ],
)
def test_an_impossible_house_is_refused(make):
    with pytest.raises(ValueError):
        make()


def test_quick_members_get_finer_steps():
    model = house()
    parameters = plain(model)
    layout = parameters.layout(model)
    assert choose_steps(parameters, layout) == 8
    assert choose_steps(parameters.set("thermal_constant", 30.0, pest=0), layout) > 8


def test_the_kernel_follows_the_written_order_of_a_day():
    names = {moment.function for moment in STEP_ORDER}
    tree = ast.parse(Path(kernel.__file__).read_text())
    advance = next(n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef) and n.name == "advance")
    calls = [
        (node.lineno, node.func.id)
        for node in ast.walk(advance)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in names
    ]
    called = [name for _, name in sorted(calls)]
    assert called[-3:] == ["look", "look_at_predators", "look_at_hypers"]  # the last midnight
    assert called[:-3] == [moment.function for moment in STEP_ORDER]
