"""Outside figures for sequential, fixed-precision and presence sampling."""

from __future__ import annotations

import numpy as np
import pytest

from outpace.estimation import sampling as sp

# Source: Wald's closed forms, evaluated by hand (computed); alpha = beta = 0.1 unless said.
LINES = [
    (sp.stop_lines_negative_binomial(2, 4, k=4.6), 2.8418079, -5.1282550, 5.1282550),
    (sp.stop_lines_negative_binomial(1, 2, k=0.5), 1.4008920, -12.0513702, 12.0513702),
    (sp.stop_lines_negative_binomial(5, 10, k=2), 6.9931122, -14.2537456, 14.2537456),
    (sp.stop_lines_poisson(1, 2), 1.4426950, -3.1699250, 3.1699250),
    (sp.stop_lines_presence(0.10, 0.30), 0.1861689, -1.6276621, 1.6276621),
    (sp.stop_lines_presence(0.10, 0.20, alpha=0.05), 0.1452444, -2.7761844, 3.5642669),
]


@pytest.mark.parametrize(("lines", "slope", "lower", "upper"), LINES)
def test_walds_lines_have_the_stated_figures(lines, slope, lower, upper):
    assert lines == pytest.approx((slope, lower, upper), abs=5.1e-8)


def test_the_public_worked_case_stops_at_the_fifth_sample():
    # Source: a public worked case (read): counts 2, 5, 6, 2, 7 -> accept the higher mean at sample 5.
    lines = LINES[0][0]
    totals = np.cumsum([2, 5, 6, 2, 7])
    assert [lines.decide(t, n) for n, t in enumerate(totals, 1)] == ["on", "on", "on", "on", "high"]


# Source: exact convolution (computed, apart from this code): chance to accept the lower mean; mean looks.
OC = [
    (1.5, 0.9939, 4.52),
    (2, 0.9478, 6.48),
    (2.84, 0.5303, 9.17),
    (3, 0.4228, 8.93),
    (4, 0.0725, 5.51),
    (5, 0.0139, 3.54),
]


@pytest.mark.parametrize(("mean", "accepts_low", "looks"), OC)
def test_the_exact_characteristic_is_the_stated_one(mean, accepts_low, looks):
    found = sp.characteristic(LINES[0][0], sp.negative_binomial_chances(mean, 4.6))
    assert found.low == pytest.approx(accepts_low, abs=5.1e-5)
    assert found.mean_looked_at == pytest.approx(looks, abs=5.1e-3)


def test_the_true_errors_lie_under_the_stated_ones():
    # Source: exact convolution (computed): alpha .0522, beta .0725 where 0.1 was asked.
    lines = LINES[0][0]
    assert 1 - sp.characteristic(lines, sp.negative_binomial_chances(2, 4.6)).low == pytest.approx(
        0.0522, abs=5.1e-5
    )
    assert sp.characteristic(lines, sp.negative_binomial_chances(4, 4.6)).low == pytest.approx(
        0.0725, abs=5.1e-5
    )


def test_greens_line_and_fixed_numbers_are_whole():
    # Source: Green 1970, closed form; a = 2.5, b = 1.5, D = .25 (computed).
    assert sp.green_total([10, 20, 50, 100], 2.5, 1.5, 0.25) == pytest.approx([160, 80, 32, 16], rel=1e-12)
    numbers = sp.fixed_number([0.1, 1, 10], 2.5, 1.5, 0.25)
    assert numbers == pytest.approx([126.49, 40, 12.649], rel=5e-5)


def test_kunos_line_is_the_closed_form():
    # Source: Kuno 1969, T = (alpha + 1) / (D^2 - (beta - 1) / n) (recalled).
    assert sp.kuno_total([50.0], 1.2, 1.4, 0.25)[0] == pytest.approx(2.2 / (0.0625 - 0.4 / 50), rel=1e-12)
    assert sp.kuno_total([6.0], 1.2, 1.4, 0.25)[0] == np.inf


def test_iwaos_lines_are_the_closed_form():
    # Source: Iwao 1975, n m -+ t sqrt(n ((alpha + 1) m + (beta - 1) m^2)) (recalled).
    low, high = sp.iwao_lines([25.0], 1.0, alpha=0.5, beta=1.2, t=1.645)
    half = 1.645 * np.sqrt(25 * (1.5 + 0.2))
    assert (low[0], high[0]) == pytest.approx((25 - half, 25 + half), rel=1e-12)
