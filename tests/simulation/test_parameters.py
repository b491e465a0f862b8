"""From facts to parameters: ranges, pairs, one number in one place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.simulation.houses import FACTS, house, plain

from outpace.simulation.draws import NINE_TENTHS, draw_pair, spread_over
from outpace.simulation.life_cycle import SteadyGrowth
from outpace.simulation.parameter_rows import ENEMY_ROWS, LEARNABLE, N_PEST, PAIR_ROWS, PEST_ROWS
from outpace.simulation.parameters import draw


def test_without_spread_every_member_has_the_values_of_the_facts():
    parameters = plain(house(), 3)
    assert (parameters.get("thermal_constant", pest=0) == 129.0).all()
    assert (parameters.get("lower_threshold", enemy=0) == 2.8).all()
    assert (parameters.get("refuge_k", enemy=0) == 0.35).all()
    assert all((parameters.get(name, pest=0) == 0.0).all() for name in LEARNABLE)


def test_nine_in_ten_members_lie_within_the_range_of_the_row():
    parameters = draw(FACTS, house(), 4000, seed=3)
    for name, index in (
        ("attack_rate", {"enemy": 0}),
        ("adult_loss", {"enemy": 0}),
    ):
        fact = FACTS.one("aphidius_colemani", name)
        low, high = fact.low, fact.high
        values = parameters.get(name, **index)
        assert np.mean((low <= values) & (values <= high)) == pytest.approx(0.90, abs=0.02)


def test_threshold_and_constant_are_drawn_as_a_pair():
    parameters = draw(FACTS, house(), 4000, seed=3)
    threshold = parameters.get("lower_threshold", enemy=0)
    constant = parameters.get("thermal_constant", enemy=0)
    assert np.corrcoef(threshold, constant)[0, 1] == pytest.approx(-0.85, abs=0.03)
    # Drawn apart, the time at 10 °C would run from 23 to 42 days; as a pair the middle nine tenths are narrower.
    together = np.ptp(np.quantile(constant / (10.0 - threshold), [0.05, 0.95]))
    apart = np.ptp(
        np.quantile(np.random.default_rng(1).permutation(constant) / (10.0 - threshold), [0.05, 0.95])
    )
    assert together < 0.75 * apart


def test_a_pair_without_correlation_is_drawn_apart():
    z = np.random.default_rng(2).standard_normal((2, 5000))
    facts = [FACTS.one("aphidius_colemani", name) for name in ("lower_threshold", "thermal_constant")]
    threshold, constant = draw_pair(*facts, 0.0, *z)
    assert abs(np.corrcoef(threshold, constant)[0, 1]) < 0.05


def test_wide_ranges_are_spread_on_the_log_and_kept_in_bounds():
    fact = FACTS.one("myzus_persicae", "immigration")
    ends = spread_over(fact, np.array([-NINE_TENTHS, 0.0, NINE_TENTHS]))
    assert ends == pytest.approx([fact.low, fact.value, fact.high])
    share = FACTS.one("myzus_persicae", "winged_leaving")
    assert spread_over(share, np.array([-1.0, 9.0]), least=0.2, most=1.0).tolist() == [0.2, 1.0]


def test_the_same_seed_draws_the_same_members_whoever_else_is_there():
    alone = draw(FACTS, house(), 20, seed=8)
    together = draw(
        FACTS, house(("myzus_persicae", "aphis_gossypii"), ("aphidius_colemani", "aphidius_ervi")), 20, seed=8
    )
    for name in PEST_ROWS:
        assert np.array_equal(alone.get(name, pest=0), together.get(name, pest=0)), name
    for name in ENEMY_ROWS:
        assert np.array_equal(alone.get(name, enemy=0), together.get(name, enemy=0)), name
    assert not np.array_equal(alone.values, draw(FACTS, house(), 20, seed=9).values)


def test_a_growers_own_row_stands_before_the_books():
    own = replace(FACTS.one("aphidius_colemani", "share_female"), value=0.45, low=0.4, high=0.5)
    parameters = draw(FACTS, house(), 10, seed=1, own=[own], spread=False)
    assert (parameters.get("share_female", enemy=0) == 0.45).all()
    assert any(fact.evidence == "own" for fact in parameters.facts)


def test_every_fact_that_was_used_is_told():
    used = {fact.quantity for fact in plain(house()).facts}
    assert {
        "thermal_constant",
        "lifetime_fecundity",
        "host_match",
        "refuge_k",
        "process_correlation_time",
    } <= used


def test_rows_have_names_and_are_found_by_them():
    parameters = plain(house())
    assert len(parameters.names) == len(parameters.values) == len(set(parameters.names))
    assert parameters.names[parameters.row("log_attack", pest=0)] == "myzus_persicae.log_attack"
    assert parameters.names[parameters.row("avoidance", enemy=0)] == "aphidius_colemani.avoidance"
    assert parameters.names[-1] == f"aphidius_colemani.myzus_persicae.{PAIR_ROWS[-1]}"
    with pytest.raises(ValueError, match="no parameter"):
        parameters.row("log_attack", enemy=0)


def test_setting_and_taking_members_leaves_the_old_table_alone():
    parameters = draw(FACTS, house(), 5, seed=1)
    before = parameters.values.copy()
    changed = parameters.set("log_growth", np.arange(5.0), pest=0).take(np.array([4, 4, 0]))
    assert changed.get("log_growth", pest=0).tolist() == [4.0, 4.0, 0.0]
    assert np.array_equal(parameters.values, before)


def test_an_unknown_aphid_is_wide_and_no_wasp_is_promised():
    model = house(("unknown_aphid", "myzus_persicae"))
    parameters = draw(FACTS, model, 2000, seed=4)
    wide, known = (parameters.get("thermal_constant", pest=p).std() for p in (0, 1))
    assert wide > 1.5 * known
    assert all(pest != 0 for pest, _ in parameters.substages.pairs)


def test_an_enemy_that_accepts_none_of_the_aphids_is_told_as_inert():
    model = house(("macrosiphum_euphorbiae",), ("aphidius_colemani",), predators=("aphidoletes_aphidimyza",))
    assert plain(model).inert == ("aphidius_colemani",)


def test_a_predator_among_the_wasps_is_refused():
    with pytest.raises(ValueError, match="aphidoletes_aphidimyza: wasps are enemies"):
        plain(house(enemies=("aphidoletes_aphidimyza",)))


def test_the_middle_member_grows_at_the_middle_rate():
    model = house(enemies=())
    parameters = draw(FACTS, model, 500, seed=6)
    counts = parameters.layout(model).rows.pest_count[0]
    rates = SteadyGrowth(parameters.values[:N_PEST], parameters.shared, 0, counts, 20.0).rate()
    middle = SteadyGrowth(parameters.middle().values[:N_PEST], parameters.shared, 0, counts, 20.0).rate()[0]
    assert np.median(rates) == pytest.approx(middle, rel=0.05)
    # Source: cultivar alone moves the rate of increase by 10 to 40 %; evidence read.
    assert 0.10 < rates.std() / middle < 0.40
