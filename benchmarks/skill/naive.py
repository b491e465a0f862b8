"""The two naive forecasts of the product's own review, with their past errors taken from development seeds."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.naive_forecasts import NAIVE, ensemble, middle

__all__ = ["NAIVE", "members", "past_errors"]

Array = NDArray[np.float64]
Row = dict[str, Any]


def past_errors(rows: Iterable[Row]) -> dict[tuple[str, int], Array]:
    """Return the errors of each naive forecast by days ahead, on log(1 + aphids per plant)."""
    found: dict[tuple[str, int], list[float]] = {}
    for row in rows:
        for text, then in row["ahead"].items():
            for name in NAIVE:
                miss = float(np.log1p(then["true"])) - _point(name, row, int(text))
                found.setdefault((name, int(text)), []).append(miss)
    return {key: np.array(each) for key, each in found.items()}


def members(name: str, row: Row, days: int, errors: dict[tuple[str, int], Array]) -> Array:
    """Return a naive forecast as an ensemble of aphids per plant, shape (draws,)."""
    return ensemble(_point(name, row, days), errors[(name, days)])


def _point(name: str, row: Row, days: int) -> float:
    point = middle(name, row["written"], row["written_before"], row["gap_d"], days)
    assert point is not None
    return point
