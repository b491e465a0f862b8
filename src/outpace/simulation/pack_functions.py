"""Exponential, logarithm and power of packs: no branches, no tables, right to a few units of the last place."""

from __future__ import annotations

import math

from outpace.simulation.chains import compiled
from outpace.simulation.packs import (
    Pack,
    exponent_and_fraction,
    least,
    most,
    select,
    spread,
    times_power_of_two,
)

LARGE = 1.5 * 2.0**52
LOG2_E = 1.0 / math.log(2.0)
LN2_HIGH = float.fromhex("0x1.62e42fee00000p-1")
LN2_LOW = float.fromhex("0x1.a39ef35793c76p-33")
"""The natural logarithm of 2 in two parts, the first with zeros at its end, so that its multiples are exact."""
MOST_EXPONENT = 708.0
LEAST_NORMAL = 2.2250738585072014e-308


@compiled
def exp(x: Pack) -> Pack:
    """Return the exponential; beyond ±708 that of ±708."""
    x = most(least(x, spread(MOST_EXPONENT)), spread(-MOST_EXPONENT))
    shifted = x * LOG2_E + LARGE
    n = shifted - LARGE
    r = (x - n * LN2_HIGH) - n * LN2_LOW
    # |r| < 0.347: the first 14 terms of the series leave an error below 1e-17.
    r2 = r * r
    r4 = r2 * r2
    low = (1.0 / 2.0 + r * (1.0 / 6.0)) + r2 * (1.0 / 24.0 + r * (1.0 / 120.0))
    middle = (1.0 / 720.0 + r * (1.0 / 5040.0)) + r2 * (1.0 / 40320.0 + r * (1.0 / 362880.0))
    high = (1.0 / 3628800.0 + r * (1.0 / 39916800.0)) + r2 * (1.0 / 479001600.0 + r * (1.0 / 6227020800.0))
    series = 1.0 + (r + r2 * (low + r4 * (middle + r4 * high)))
    return times_power_of_two(series, shifted)


@compiled
def log1p(x: Pack) -> Pack:
    """Return the logarithm of 1 + x for x ≥ 0, right for small x too."""
    n, f = exponent_and_fraction(1.0 + x)
    small = x < 0.41
    return _log_series(select(small, x, f - 1.0), select(small, spread(0.0), n))


@compiled
def log(x: Pack) -> Pack:
    """Return the logarithm of x; that of the least normal number where x is less."""
    n, f = exponent_and_fraction(most(x, spread(LEAST_NORMAL)))
    return _log_series(f - 1.0, n)


@compiled
def _log_series(above: Pack, n: Pack) -> Pack:
    """Return log(1 + above) + n log 2, by twice the inverse hyperbolic tangent of above / (2 + above)."""
    s = above / (2.0 + above)
    z = s * s
    z2 = z * z
    z4 = z2 * z2
    # |s| < 0.172: ten terms after the first leave an error below 1e-17.
    low = (1.0 / 3.0 + z * (1.0 / 5.0)) + z2 * (1.0 / 7.0 + z * (1.0 / 9.0))
    middle = (1.0 / 11.0 + z * (1.0 / 13.0)) + z2 * (1.0 / 15.0 + z * (1.0 / 17.0))
    high = 1.0 / 19.0 + z * (1.0 / 21.0)
    series = z * (low + z4 * (middle + z4 * high))
    return n * LN2_HIGH + (2.0 * s + (2.0 * s * series + n * LN2_LOW))


@compiled
def power(base: Pack, exponent: Pack) -> Pack:
    """Return base to an exponent, for bases above nil."""
    return exp(exponent * log(base))
