"""Passage through a stage against the chain of compartments itself and against another program's gamma function."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import expm
from scipy.special import gammainc, gammaincinv

from outpace.biology.passage import erlang_stages, passage_cdf, passage_quantile


def test_share_out_of_a_chain_of_25_compartments() -> None:
    # Source: gamma distribution and the integrated chain agree to 8 digits (mean 12 d, s.d. 2.4 d). Evidence: derived.
    days = [8.0, 10.0, 12.0, 14.0, 16.0]
    expected = [0.03360221, 0.20695686, 0.52660153, 0.80425735, 0.94247178]
    assert erlang_stages(12.0, 2.4) == 25
    assert passage_cdf(days, 12.0, 25) == pytest.approx(expected, abs=5e-9)


@pytest.mark.parametrize("count", [1, 4, 25, 60])
def test_share_out_equals_the_chain_solved_as_a_matrix(count: int) -> None:
    # Source: the linear system dx/dt = Ax of the chain, by scipy's matrix exponential: another road altogether.
    mean, day = 9.0, 7.5
    rate = count / mean
    system = np.diag(np.full(count, -rate)) + np.diag(np.full(count - 1, rate), -1)
    left = (expm(system * day) @ np.eye(count)[0]).sum()
    assert passage_cdf(day, mean, count) == pytest.approx(1 - left, abs=1e-12)


def test_share_out_equals_another_programs_incomplete_gamma() -> None:
    # Source: scipy.special.gammainc (Temme's expansions and others), over all shapes and times met here.
    shapes = np.array([0.02, 0.3, 1.0, 2.5, 12.0, 25.0, 144.0, 900.0, 1e5])[:, None]
    times = np.array([1e-6, 0.05, 0.5, 0.9, 0.99, 1.0, 1.01, 1.1, 1.6, 4.0, 30.0])[None, :]
    assert passage_cdf(times, 1.0, shapes) == pytest.approx(gammainc(shapes, shapes * times), abs=1e-9)


def test_quantiles_equal_another_programs_inverse() -> None:
    # Source: scipy.special.gammaincinv.
    shapes = np.array([0.5, 2.0, 25.0, 400.0])[:, None]
    shares = np.array([0.001, 0.05, 0.5, 0.95, 0.999])[None, :]
    expected = 12.0 * gammaincinv(shapes, shares) / shapes
    assert passage_quantile(shares, 12.0, shapes) == pytest.approx(expected, rel=1e-10)
