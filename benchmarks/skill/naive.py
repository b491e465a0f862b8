"""Two forecasts that know nothing of biology, made probabilistic by their own past errors on development seeds.

*No change*: the mean that the last walk wrote. *Last growth*: the last walk's mean, growing on as between the last two
walks. Each carries the errors it made before, on log(1 + x), at the same number of days ahead.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Row = dict[str, Any]

NAMES = ("no change", "last growth")
DRAWS = 399
MOST_GROWTH = 0.35  # a day, on the log: beyond what any aphid does


def middle(name: str, row: Row, days: int) -> float:
    """Return where a naive forecast points, on log(1 + aphids per plant)."""
    now = np.log1p(row["written"])
    if name == "no change":
        return float(now)
    growth = (now - np.log1p(row["written_before"])) / max(row["gap_d"], 1)
    return float(now + days * np.clip(growth, -MOST_GROWTH, MOST_GROWTH))


def past_errors(rows: Iterable[Row]) -> dict[tuple[str, int], Array]:
    """Return the errors of each naive forecast by days ahead, from forecasts whose truth is known."""
    found: dict[tuple[str, int], list[float]] = {}
    for row in rows:
        for text, then in row["ahead"].items():
            for name in NAMES:
                miss = np.log1p(then["true"]) - middle(name, row, int(text))
                found.setdefault((name, int(text)), []).append(float(miss))
    return {key: np.array(each) for key, each in found.items()}


def members(name: str, row: Row, days: int, errors: dict[tuple[str, int], Array]) -> Array:
    """Return a naive forecast as an ensemble of aphids per plant, shape (draws,)."""
    shares = (np.arange(DRAWS) + 0.5) / DRAWS
    drawn = middle(name, row, days) + np.quantile(errors[(name, days)], shares)
    # Nothing lies below no aphids; a trace keeps the draws there apart, so that a density can be told.
    least = 1e-3 * shares
    return np.asarray(np.expm1(np.maximum(drawn, least)))
