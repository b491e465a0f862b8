"""Outside figures for what a sample without finds proves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import betabinom, hypergeom

from outpace.biology.dispersion import zero_share
from outpace.estimation import no_finds as nf
from outpace.estimation import sample_size as size

# Source: ISPM 31, appendix table 1 (hypergeometric), recalled and then recomputed without a difference;
# infested units rounded down to whole ones. Columns: 5, 2, 1, 0.5, 0.1 % infested.
SHARES = (0.05, 0.02, 0.01, 0.005, 0.001)
TABLE_95 = {
    25: (24,),
    100: (45, 78, 95),
    200: (51, 105, 155, 190),
    1000: (57, 138, 258, 450, 950),
    10_000: (59, 148, 294, 581, 2588),
}
TABLE_99 = {
    25: (25,),
    100: (59, 90, 99),
    200: (73, 136, 180, 198),
    1000: (86, 204, 368, 601, 990),
    10_000: (90, 226, 448, 878, 3689),
}


@pytest.mark.parametrize(("confidence", "table"), [(0.95, TABLE_95), (0.99, TABLE_99)])
def test_the_table_of_finite_lots_is_met(confidence, table):
    for lot, row in table.items():
        found = [size.plants_to_look_at(share, confidence, lot=lot) for share in SHARES[: len(row)]]
        assert found == list(row), lot


# Source: ISPM 31 tables for large lots: rows of efficacy 100 % recalled, all recomputed from the formulas.
LARGE = [
    (1.00, 0.95, (59, 149, 299, 598, 2995), (60, 150, 300, 600, 2996)),
    (0.95, 0.95, (62, 157, 314, 630, 3152), (64, 158, 316, 631, 3154)),
    (0.90, 0.95, (66, 165, 332, 665, 3328), (67, 167, 333, 666, 3329)),
    (0.80, 0.95, (74, 186, 373, 748, 3744), (75, 188, 375, 749, 3745)),
    (0.10, 0.95, (598, 1497, 2995, 5990, 29956), (600, 1498, 2996, 5992, 29958)),
    (1.00, 0.99, (90, 228, 459, 919, 4603), None),
    (0.95, 0.99, (95, 241, 483, 968, 4846), None),
    (0.90, 0.99, (101, 254, 510, 1022, 5115), None),
    (0.80, 0.99, (113, 286, 574, 1149, 5755), None),
    (0.10, 0.99, (919, 2301, 4603, 9209, 46050), None),
]


@pytest.mark.parametrize(("efficacy", "confidence", "binomial", "poisson"), LARGE)
def test_the_tables_of_large_lots_are_met(efficacy, confidence, binomial, poisson):
    found = [size.plants_to_look_at(share, confidence, sensitivity=efficacy) for share in SHARES]
    assert found == list(binomial)
    if poisson:
        assert [size.plants_when_rare(share, confidence, efficacy) for share in SHARES] == list(poisson)


def test_five_per_cent_infested_needs_59_and_90_plants():
    # Source: McSorley and Littell 1993, Nematropica 23:177-181, abstract (read).
    assert (size.plants_to_look_at(0.05, 0.95), size.plants_to_look_at(0.05, 0.99)) == (59, 90)


def test_a_scout_who_sees_seven_in_ten_needs_85_and_427():
    # Source: the binomial formula, computed: 5 and 1 % of plants, 70 % of infested plants seen.
    assert size.plants_to_look_at(0.05, sensitivity=0.7) == 85
    assert size.plants_to_look_at(0.01, sensitivity=0.7) == 427


def test_half_an_eye_is_a_perfect_one_at_half_the_share():
    assert size.plants_to_look_at(0.05, sensitivity=0.5) == size.plants_to_look_at(0.025) == 119


def test_the_boundary_of_a_thousand_plants_is_exact():
    # Source: hypergeometric law by scipy: 57 plants give .95076, 56 give .94801 (computed).
    assert 1 - size.chance_missed(50, 1000, 57) == pytest.approx(0.95076, abs=5e-6)
    assert 1 - size.chance_missed(50, 1000, 56) == pytest.approx(0.94801, abs=5e-6)
    assert size.chance_missed(50, 1000, 57) == pytest.approx(hypergeom.pmf(0, 1000, 50, 57), rel=1e-9)


@pytest.mark.parametrize(("lot", "infested", "about"), [(1000, 50, 56.73), (200, 10, 50.61), (100, 5, 44.17)])
def test_the_closed_approximation_of_cannon_and_roe_lies_within_one_plant(lot, infested, about):
    # Source: Cannon and Roe 1982, closed form (computed).
    assert (1 - 0.05 ** (1 / infested)) * (lot - (infested - 1) / 2) == pytest.approx(about, abs=5e-3)
    assert size.plants_to_look_at(infested / lot, lot=lot) == pytest.approx(about, abs=1.0)


# Source: epiR manual, worked examples (read; re-run). Their approximations differ from the exact minimum by
# at most two plants, so nearness is asked and the exact value (computed) beside it.
@pytest.mark.parametrize(
    ("lot", "share", "seen", "theirs", "exact"), [(1000, 0.05, 0.90, 65, 64), (200, 0.20, 1.0, 15, 13)]
)
def test_the_worked_examples_are_near_and_the_exact_minimum_is_met(lot, share, seen, theirs, exact):
    found = size.plants_to_look_at(share, lot=lot, sensitivity=seen)
    assert found == exact
    assert found == pytest.approx(theirs, abs=2)


def test_the_sensitivity_of_three_hundred_plants_is_that_of_the_worked_example():
    # Source: epiR manual (read): n = 300, 1 %, sensitivity .95 -> .942938.
    eye = nf.Detection(np.array([0.95]), "given")
    proved = nf.what_it_proves([nf.CleanWalk(300)], eye, confidence=0.942938)
    assert proved.below_share == pytest.approx(0.01, rel=1e-5)


def test_the_worked_example_of_a_discounted_prior_is_met():
    # Source: epiR manual (read): free .75, introduction .01, target .95, 1 % -> 198 plants, .7425, .848237.
    prior = nf.discounted(0.75, 0.01)
    assert prior == pytest.approx(0.7425, abs=1e-12)
    needed = nf.sensitivity_needed(prior, 0.95)
    assert needed == pytest.approx(0.848237, abs=5e-7)
    assert size.plants_to_look_at(0.01, needed, sensitivity=0.95) == 198
    assert nf.chance_free_after(prior, needed) == pytest.approx(0.95, abs=1e-9)


# Source: scipy.stats.betabinom (computed): intra-class correlation .01, .05, .10.
@pytest.mark.parametrize(("rho", "plants"), [(0.01, 80), (0.05, 405), (0.10, 6436)])
def test_plants_that_are_alike_need_many_more(rho, plants):
    assert size.plants_when_clumped(0.05, rho) == plants
    a, b = 0.05 * (1 - rho) / rho, 0.95 * (1 - rho) / rho
    assert betabinom.pmf(0, plants, a, b) <= 0.05 < betabinom.pmf(0, plants - 1, a, b)


@pytest.mark.parametrize(("theta", "plants"), [(0.01, 80), (0.05, 361), (0.10, 3693)])
def test_the_other_parameter_of_clumping_gives_its_own_numbers(theta, plants):
    # Source: ISPM 31, appendix 4, product form (recalled): theta = rho / (1 - rho).
    assert size.plants_when_clumped(0.05, theta / (1 + theta)) == plants
    product = np.cumsum(np.log([(0.95 + j * theta) / (1 + j * theta) for j in range(plants)]))
    assert product[-1] <= math.log(0.05) < product[-2]


@pytest.mark.parametrize(
    ("mean", "k", "zeros", "units"),
    [(0.05, 0.5, 0.95346, 63), (0.1, 0.5, 0.91287, 33), (0.1, 1.0, 0.90909, 32)],
)
def test_the_zero_class_of_clumped_counts_is_the_stated_one(mean, k, zeros, units):
    # Source: (1 + m/k)^-k (computed).
    assert zero_share(mean, k) == pytest.approx(zeros, abs=5e-6)
    assert size.plants_to_look_at(1 - zero_share(mean, k)) == units


def test_sampling_each_part_in_proportion_is_never_worse_than_sampling_at_random():
    # Source: Lane, Cannon, Arthur and Robinson, NeoBiota, abstract (read), as a property.
    strata, infested, looked = (100, 300), (10, 5), (15, 45)
    apart = math.prod(
        float(size.chance_missed(d, n, k)) for d, n, k in zip(infested, strata, looked, strict=True)
    )
    assert apart <= float(size.chance_missed(sum(infested), sum(strata), sum(looked)))


@pytest.mark.parametrize(("lot", "chance"), [(150, 0.870566), (None, 0.849775)])
def test_two_finds_of_thirty_with_looks_that_err_are_the_worked_example(lot, chance):
    # Source: epiR manual (read; re-run): N = 150 or unknown, n = 30, positive from 2, 10 %, se .90, sp .98.
    found = size.chance_flagged(0.10, 30, at_least=2, sensitivity=0.90, specificity=0.98, lot=lot)
    assert found == pytest.approx(chance, abs=5.1e-7)


def test_one_find_with_sure_looks_is_the_plain_chance_to_find():
    assert size.chance_flagged(0.05, 57, lot=1000) == pytest.approx(1 - size.chance_missed(50, 1000, 57))
    assert size.chance_flagged(0.05, 59) == pytest.approx(1 - 0.95**59)


def test_many_houses_of_many_plants_are_the_worked_example_of_two_stages():
    # Source: epiR manual (read): 1 % of clusters, 10 % of units within, sensitivity .95 -> 314 clusters of 31 units.
    assert size.plants_to_look_at(0.01, sensitivity=0.95) == 314
    assert size.plants_to_look_at(0.10, sensitivity=0.95) == 31


def test_a_prior_discounted_for_introduction_and_raised_by_a_clean_walk():
    # Source: epiR manual (read): .818966; its inputs .5 free, .05 introduced, sensitivity .8 worked out from it.
    assert nf.chance_free_after(nf.discounted(0.5, 0.05), 0.8) == pytest.approx(0.818966, abs=5e-7)


def test_a_coarse_table_agrees_with_the_binomial_only_where_its_grid_allows():
    # Source: McSorley and Littell 1993, abstract (read): 300 and 500 for 1 % at 95 and 99 %, on a coarse grid; the
    # binomial law (computed) asks 299 and 459.
    assert [size.plants_to_look_at(0.01, c) for c in (0.95, 0.99)] == [299, 459]
