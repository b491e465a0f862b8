"""Two forecasts that know nothing of biology, made probabilistic by the errors they made before.

*No change*: the mean of the last walk. *Last growth*: that mean, growing on as between the last two walks. Each
carries its own past errors, on log(1 + x), at about the same number of days ahead. A forecast that does not beat them
is not worth its trouble.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

NO_CHANGE, LAST_GROWTH = "no change", "last growth"
NAIVE = (NO_CHANGE, LAST_GROWTH)
DRAWS = 399
TRACE = 1e-3
"""Draws at zero are spread below this, so that a density can be told there."""


def middle(name: str, now: float, before: float | None, gap_d: float, days: float) -> float | None:
    """Return where a naive forecast points, on log(1 + x); None where it needs a walk more.

    Parameters
    ----------
    now, before : float
        Means of the last walk and of the one before it.
    gap_d : float
        Days between them.
    days : float
        Days ahead.

    Examples
    --------
    >>> middle("no change", np.expm1(2.0), None, 7.0, 14.0)
    2.0
    >>> middle("last growth", np.expm1(2.0), np.expm1(1.0), 7.0, 14.0)
    4.0
    """
    stands = float(np.log1p(now))
    if name == NO_CHANGE:
        return stands
    if name != LAST_GROWTH:
        raise ValueError(f"no naive forecast is called {name!r}")
    if before is None or gap_d <= 0:
        return None
    return float(max(stands + days * (stands - float(np.log1p(before))) / gap_d, 0.0))


def ensemble(point: float, past_errors: ArrayLike) -> Array:
    """Return a naive forecast as an ensemble of means, shape (draws,).

    Parameters
    ----------
    point : float
        From `middle`.
    past_errors : array of float, shape (n,)
        What came less what was pointed at, on log(1 + x), each from a forecast of which the end is known.

    Examples
    --------
    >>> bool(np.isclose(np.median(ensemble(np.log(3.0), [-1.0, 0.0, 1.0])), 2.0))
    True
    """
    errors = np.asarray(past_errors, dtype=np.float64)
    if errors.size == 0:
        raise ValueError("without past errors a naive forecast has no spread")
    shares = (np.arange(DRAWS) + 0.5) / DRAWS
    drawn = point + np.quantile(errors, shares)
    return np.asarray(np.expm1(np.maximum(drawn, TRACE * shares)))
