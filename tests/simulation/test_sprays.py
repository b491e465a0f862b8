"""What a spray does to each class of animals, from the figures that were entered and nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.simulation.houses import UNBOUNDED, beginning, house, plain, steady

from outpace.simulation.model import Spray
from outpace.simulation.run import run

COLD = 2.0
"""Below every threshold: nothing develops, bears or stings, so that what is missing was killed. [°C]"""


@pytest.fixture(scope="module")
def full():
    """A cold house of one bay with some of everything, its parameters, layout and state."""
    model = house()
    parameters = plain(model, **UNBOUNDED).set("adult_loss", 0.0, enemy=0)
    layout = parameters.layout(model)
    state = beginning(model, parameters, 1.0)
    rng = np.random.default_rng(4)
    for block in layout.blocks:
        if block.name not in ("luck", "residue", "winged_share"):
            state[block.rows, 0] = rng.uniform(5.0, 50.0, block.count)
    return model, parameters, layout, state


def left(full, spray, days=1, degc=COLD, state=None):
    """Return by block the share of what an unsprayed house has left after some days."""
    model, parameters, layout, begin = full
    ends = [
        run(
            model, parameters, begin if state is None else state, steady(degc, days), first_day=0, days=days,
            sprays=sprays, noise=False,
        ).state[:, 0]
        for sprays in ((spray,), ())
    ]  # fmt: skip
    return {
        block.name: ends[0][block.rows].sum() / ends[1][block.rows].sum()
        for block in layout.blocks
        if ends[1][block.rows].sum() > 0
    }


APHIDS = ("N1", "N2", "N3", "N4", "young_adults", "wingless", "flying", "winged")
STUNG = ("stung_N1_to_N3", "stung_N4", "stung_adult")


def test_a_kill_of_aphids_takes_every_stage_the_winged_and_the_stung_alike(full):
    after = left(full, Spray(day=0.5, kill_pest=0.7))
    assert [after[name] for name in (*APHIDS, *STUNG)] == pytest.approx([0.3] * 11, rel=1e-9)
    for name in ("females", "mummies", "shells", "dead_mummies", "carrier"):
        assert after[name] == pytest.approx(1.0)


def test_a_kill_of_enemies_takes_the_searching_and_leaves_what_sits_in_a_mummy(full):
    after = left(full, Spray(day=0.5, kill_enemy=0.9))
    assert after["females"] == pytest.approx(0.1, rel=1e-9)
    for name in (*APHIDS, *STUNG, "mummies", "carrier"):
        assert after[name] == pytest.approx(1.0)


def test_what_dies_inside_mummies_is_closed_still_and_gives_no_wasp(full):
    model, parameters, _, begin = full
    runs = [
        run(model, parameters, begin, steady(COLD, 3), first_day=0, days=3, sprays=sprays, noise=False)
        for sprays in ((Spray(day=1.5, kill_mummies=0.4),), ())
    ]
    sprayed, plain_run = runs
    after = left(full, Spray(day=1.5, kill_mummies=0.4), days=3)
    assert after["mummies"] == pytest.approx(0.6, rel=1e-9)
    assert after["dead_mummies"] > 1.0
    assert sprayed.mummies_closed[2] == pytest.approx(plain_run.mummies_closed[2], rel=1e-9)
    for name in (*APHIDS, *STUNG, "females", "carrier"):
        assert after[name] == pytest.approx(1.0)


@pytest.mark.parametrize("day", [0.2, 1.9, 3.0])
def test_a_run_parted_at_a_spray_keeps_its_days_and_its_books(full, day):
    model, parameters, layout, begin = full
    result = run(
        model, parameters, begin, steady(20.0, 4), first_day=0, days=4, seed=3,
        sprays=[Spray(day, kill_pest=0.5, kill_enemy=0.2, kill_mummies=0.3), Spray(1.1, kill_mummies=0.1)],
    )  # fmt: skip
    assert len(result.aphids) == len(result.mummies_closed) == 5
    # Derived: mummies begun with and formed are standing, hatched, dead inside, or were dead before and fell.
    book = {cause: values[0, 0, 0] for cause, values in result.enemy_ledger.items()}
    inside = layout.find("mummies", enemy=0, zone=0).rows
    standing = result.state[inside, 0].sum()
    assert begin[inside, 0].sum() + book["formed"] == pytest.approx(
        standing + book["hatched"] + book["died_in_mummy"], rel=1e-9
    )


def test_a_spray_that_spares_mummies_parts_nothing(full):
    model, parameters, _, begin = full
    whole, parted = (
        run(
            model, parameters, begin, steady(20.0, 4), first_day=0, days=4, seed=3,
            sprays=[Spray(1.5, kill_pest=0.5, kill_mummies=share)],
        )
        for share in (0.0, 1e-300)
    )  # fmt: skip
    assert parted.aphids == pytest.approx(whole.aphids, rel=1e-12)
    assert parted.state == pytest.approx(whole.state, rel=1e-12, abs=1e-12)


def test_a_residue_kills_each_day_by_what_is_left_of_it(full):
    # Derived: from .6 on the first day evenly to none over 3 d: .6, .4, .2 of the females there die.
    after = left(full, Spray(day=0.0, residual_enemy=0.6, residual_d=3.0), days=4)
    assert after["females"] == pytest.approx((1 - 0.6) * (1 - 0.4) * (1 - 0.2), rel=1e-6)
    assert after["wingless"] == pytest.approx(1.0)


def test_a_residue_meets_wasps_that_come_out_after_the_spray(full):
    model, parameters, layout, begin = full
    warm = begin.copy()
    warm[layout.find("females", enemy=0, zone=0).rows] = 0.0
    after = left(
        (model, parameters, layout, warm), Spray(0.0, residual_enemy=0.8, residual_d=10.0), days=4, degc=22.0
    )
    assert after["females"] < 0.4
    assert after["mummies"] > 0.9


def test_of_two_residues_the_worse_holds(full):
    worse = Spray(day=0.0, residual_enemy=0.8, residual_d=8.0)
    model, parameters, _, begin = full
    ends = [
        run(model, parameters, begin, steady(COLD, 2), first_day=0, days=2, sprays=sprays, noise=False).state
        for sprays in ((worse,), (worse, Spray(day=0.5, residual_enemy=0.3, residual_d=30.0)))
    ]
    assert ends[0] == pytest.approx(ends[1])


def test_a_spray_of_one_zone_leaves_the_other():
    model = house(zones=((200.0, 500.0), (200.0, 500.0)))
    parameters = plain(model, **UNBOUNDED)
    result = run(
        model, parameters, beginning(model, parameters, 1.0), steady(COLD, 1), first_day=0, days=1,
        sprays=[Spray(0.5, zone=1, kill_pest=1.0)], noise=False,
    )  # fmt: skip
    assert result.pest_ledger["sprayed"][0, 0, 0] == 0.0
    assert result.pest_ledger["sprayed"][0, 1, 0] == pytest.approx(result.aphids[0, 0, 1, 0], rel=0.2)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_kill_never_leaves_more(full, kill, more, enemies):
    low, high = sorted((kill, more))
    some, many = (left(full, Spray(0.5, kill_pest=share, kill_enemy=enemies)) for share in (low, high))
    assert all(many.get(name, 0.0) <= some.get(name, 0.0) + 1e-9 for name in (*APHIDS, *STUNG))
    assert some.get("females", 0.0) == pytest.approx(1.0 - enemies, abs=1e-9)
