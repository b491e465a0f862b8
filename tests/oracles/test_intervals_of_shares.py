"""Outside figures for intervals of shares. Marks: read, recalled, computed."""

from __future__ import annotations

import pytest
from statsmodels.stats.proportion import proportion_confint

from outpace.estimation.intervals import clopper_pearson, true_share, upper_limit, wilson

# Source: cases of Newcombe 1998 (Wilson values recalled, then recomputed; 81 of 263 also read in
# the epiR manual after Altman et al. 2000). Exact ends computed, R epiR and statsmodels agree.
CASES = [
    (81, 263, (0.2527, 0.3676), (0.2553, 0.3662)),
    (0, 20, (0.0, 0.1684), (0.0, 0.1611)),
    (1, 29, (0.0009, 0.1776), (0.0061, 0.1718)),
    (4, 200, (0.005476, 0.050414), (0.007804, 0.050287)),
]


@pytest.mark.parametrize(("k", "n", "exact", "score"), CASES)
def test_the_classical_cases_are_met(k, n, exact, score):
    assert clopper_pearson(k, n) == pytest.approx(exact, abs=5.1e-5)
    assert wilson(k, n) == pytest.approx(score, abs=5.1e-5)


@pytest.mark.parametrize(("k", "n"), [(0, 59), (3, 17), (150, 300), (7, 7)])
def test_another_program_gives_the_same_ends(k, n):
    # Source: statsmodels, other authors.
    assert clopper_pearson(k, n) == pytest.approx(proportion_confint(k, n, method="beta"), abs=1e-10)
    assert wilson(k, n) == pytest.approx(proportion_confint(k, n, method="wilson"), abs=1e-10)


def test_wilson_at_no_finds_is_clipped_at_zero():
    # Source: the unclipped formula returns -7e-18 at 0 of 59 (computed).
    assert wilson(0, 59).low == 0.0


@pytest.mark.parametrize(
    ("k", "n", "ends"),
    [
        # Source: van Lenteren et al. 2003 ask for 45 % emergence of 500 (read); ends computed.
        (225, 500, (0.4058, 0.4948)),
        # Source: exact ends of a 60 % emergence check, computed: 36-81, 45-74, 50-70 %.
        (12, 20, (0.36, 0.81)),
        (30, 50, (0.45, 0.74)),
        (60, 100, (0.50, 0.70)),
    ],
)
def test_emergence_checks_have_the_stated_ends(k, n, ends):
    digits = 5.1e-5 if n == 500 else 5.1e-3
    assert clopper_pearson(k, n) == pytest.approx(ends, abs=digits)


@pytest.mark.parametrize(("n", "limit"), [(20, 0.1391), (60, 0.04870), (300, 0.009936)])
def test_the_one_sided_limit_at_no_finds_is_the_closed_form(n, limit):
    # Source: 1 - 0.05^(1/n), computed.
    assert upper_limit(0, n) == pytest.approx(limit, rel=4e-4)


@pytest.mark.parametrize(("n", "limit"), [(20, 0.17), (50, 0.07)])
def test_no_ragged_hole_still_allows_the_stated_share(n, limit):
    # Source: exact 95 %, two-sided, computed: none of 20 allows 17 %, none of 50 allows 7 %.
    assert clopper_pearson(0, n).high == pytest.approx(limit, abs=5.1e-3)


def test_an_imperfect_test_is_turned_back_into_the_true_share():
    # Source: epiR manual, worked example (read): 45 of 150, .96, .89 -> 22.35 %, exact 13.88 to 31.78 %.
    ends = clopper_pearson(45, 150)
    found = [100 * true_share(p, 0.96, 0.89) for p in (45 / 150, *ends)]
    assert found == pytest.approx([22.35, 13.88, 31.78], abs=0.01)
