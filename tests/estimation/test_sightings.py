"""What a walk would show, and naive forecasts with their own past errors."""

from __future__ import annotations

import numpy as np
import pytest
from tests.estimation.houses import FACTS, house

from outpace.estimation.bands import Bands
from outpace.estimation.judgements import judgements
from outpace.estimation.naive_forecasts import LAST_GROWTH, NO_CHANGE, ensemble, middle
from outpace.estimation.sightings import mean_to_be_seen
from outpace.simulation.parameters import draw

MEMBERS = 4000
CERTAIN = (1e6, 1.0)
"""Of the beta law: nearly all is seen."""


@pytest.fixture(scope="module")
def steady():
    model = house(enemies=())
    parameters = draw(FACTS, model, MEMBERS, seed=5, spread=False)
    aphids = np.full((1, 1, 2, MEMBERS), 60.0)
    none = np.zeros((1, 0, 2, MEMBERS))
    return Bands(model, 0, aphids, none, none, parameters)


def seen(bands, units, detection=CERTAIN):
    return mean_to_be_seen(bands, 0, "leaf", units=units, detection=detection, rng=np.random.default_rng(1))[
        0
    ]


def test_means_to_be_seen_have_the_mean_and_variance_of_clumped_counts(steady):
    # Source: the negative binomial law itself: variance m + m²/k; Taylor's law gives m + m²/k = a·m^b. A walk's own
    # difference from the house, log-normal of mean 1, adds the variance of a mixture: (e^(s²) − 1) m².
    units, density = 30, 60.0 / steady.model.leaves_per_plant
    a, b = (steady.parameters.get(name, pest=0)[0] for name in ("taylor_a", "taylor_b"))
    differs = np.expm1(judgements().walk_differs_sd ** 2) * density**2
    drawn = seen(steady, units)
    assert drawn.mean() == pytest.approx(density, rel=0.05)
    assert drawn.var() == pytest.approx(a * density**b / units + differs, rel=0.15)


def test_a_scout_who_misses_half_writes_half(steady):
    assert seen(steady, 200, (500.0, 500.0)).mean() == pytest.approx(1.0, rel=0.05)


def test_a_walk_of_no_unit_is_refused(steady):
    with pytest.raises(ValueError, match="one unit"):
        seen(steady, 0)


def test_last_growth_goes_on_as_between_the_last_two_walks():
    # Source: exponential growth, checked by its doubling: 8 → 16 in 7 days is 64 in 14 more, less the 1 of log(1 + x).
    point = middle(LAST_GROWTH, 16.0 - 1.0, 8.0 - 1.0, 7.0, 14.0)
    assert np.exp(point) == pytest.approx(64.0)


def test_last_growth_needs_two_walks_and_never_points_below_none():
    assert middle(LAST_GROWTH, 3.0, None, 0.0, 7.0) is None
    assert middle(LAST_GROWTH, 1.0, 20.0, 7.0, 21.0) == 0.0


def test_an_unknown_naive_forecast_is_refused():
    with pytest.raises(ValueError, match="no naive forecast"):
        middle("the moon", 1.0, 1.0, 7.0, 7.0)


def test_a_naive_forecast_is_as_wide_as_its_past_errors():
    errors = np.random.default_rng(3).normal(0.2, 0.5, 5000)
    logs = np.log1p(ensemble(middle(NO_CHANGE, 50.0, None, 0.0, 7.0), errors))
    assert logs.mean() - np.log1p(50.0) == pytest.approx(0.2, abs=0.02)
    assert logs.std() == pytest.approx(0.5, rel=0.03)


def test_a_naive_forecast_holds_no_negative_mean_and_no_two_equal_ones():
    drawn = ensemble(0.1, [-2.0, -1.0, 0.5])
    assert drawn.min() > 0
    assert len(np.unique(drawn)) == len(drawn)


def test_without_past_errors_there_is_no_naive_forecast():
    with pytest.raises(ValueError, match="no spread"):
        ensemble(1.0, [])
