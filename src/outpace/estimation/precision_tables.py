"""Totals from which a mean is known well enough, look by look: when a walk that is to measure may stop."""

from __future__ import annotations

import math

import numpy as np

from outpace.estimation.sampling import green_total, kuno_total
from outpace.estimation.stopping import Taylor


def green_table(law: Taylor, precision: float, least: int, most: int) -> tuple[int, ...] | None:
    """Return the totals from which the mean is known well enough (Green), look by look; None if b is 2.

    Examples
    --------
    >>> green_table(Taylor(2.5, 1.5), 0.25, 10, 12)
    (160, 146, 134)
    """
    if law.b >= 2:
        return None
    totals = green_total(np.arange(least, most + 1), law.a, law.b, precision)
    return tuple(math.ceil(total - 1e-9) for total in totals)


def kuno_table(alpha: float, beta: float, precision: float, least: int, most: int) -> tuple[int | None, ...]:
    """Return Kuno's totals look by look; None where no total is enough yet."""
    totals = kuno_total(np.arange(least, most + 1), alpha, beta, precision)
    return tuple(math.ceil(total - 1e-9) if math.isfinite(total) else None for total in totals)
