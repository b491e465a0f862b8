from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, nbinom

from outpace.estimation.plant_shares import nodes_of, quadrature


@pytest.mark.parametrize("k", [0.16, 0.35, 0.7, 0.999, 1.0, 4.0, 60.0, 390.0])
def test_the_nodes_have_the_mean_and_variance_of_the_gamma_law(k):
    shares, weights = quadrature(k)
    assert weights.sum() == pytest.approx(1.0)
    assert weights @ shares == pytest.approx(1.0, rel=0.002)
    assert weights @ shares**2 == pytest.approx(1 + 1 / k, rel=0.01)


@pytest.mark.parametrize("k", [0.16, 0.35, 0.9, 2.0, 12.0])
@pytest.mark.parametrize(
    ("counts", "means"),
    [
        ([0, 0], [0.1, 0.1]),
        ([0, 0, 0], [3.0, 3.0, 0.3]),  # a clean plant where three looks could have found something
        ([3, 0], [0.5, 0.5]),
        ([5, 0, 2], [3.0, 3.0, 0.3]),
        ([0, 0, 0, 3], [0.5, 0.5, 0.1, 0.1]),  # mummies where no aphid is left
        ([120, 80], [8.0, 8.0]),  # a hot plant
    ],
)
def test_the_looks_at_one_plant_are_as_likely_as_by_an_integral(k, counts, means):
    # Source: numerical integration over the gamma share of the plant, in the log of the share.
    def given(log_share: float) -> float:
        share = np.exp(log_share)
        chances = [nbinom.pmf(x, k, k / (k + m * share)) for x, m in zip(counts, means, strict=True)]
        return float(np.prod(chances) * gamma.pdf(share, k, scale=1 / k) * share)

    low = -60.0 / min(k, 1.0) ** 0.5
    expected = sum(quad(given, a, b, limit=400)[0] for a, b in ((low, -8), (-8, -1), (-1, 2), (2, 6)))
    shares, log_weights = (each[:, 0] for each in nodes_of(np.array([k])))
    at_nodes = [
        np.prod([nbinom.pmf(x, k, k / (k + m * s)) for x, m in zip(counts, means, strict=True)])
        for s in shares
    ]
    assert np.log(np.exp(log_weights) @ at_nodes) == pytest.approx(np.log(expected), abs=0.03)
