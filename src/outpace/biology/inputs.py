"""What the functions of this layer ask of the numbers they are given."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def numbers(name: str, value: ArrayLike) -> FloatArray:
    """Return ``value`` as an array of finite floats.

    Parameters
    ----------
    name : str
        What the caller calls it; stands in the message.
    value : array_like
        Numbers. A missing value is refused here, so that a gap in a record cannot pass for growth.

    Returns
    -------
    array of float
        Same shape. A scalar becomes an array without axes.

    Raises
    ------
    ValueError
        If a value is missing, infinite or no number.

    Examples
    --------
    >>> numbers("temperature", [18, 21.5])
    array([18. , 21.5])
    """
    array = np.asarray(value, dtype=np.float64)
    if not np.isfinite(array).all():
        raise ValueError(f"{name} must be finite numbers")
    return array


def above_zero(name: str, value: ArrayLike) -> FloatArray:
    """Return ``value`` as floats, all above zero; else a ValueError that names ``name``."""
    array = numbers(name, value)
    if (array <= 0.0).any():
        raise ValueError(f"{name} must be above zero, got {array.min():g}")
    return array


def not_negative(name: str, value: ArrayLike) -> FloatArray:
    """Return ``value`` as floats, none below zero; else a ValueError that names ``name``."""
    array = numbers(name, value)
    if (array < 0.0).any():
        raise ValueError(f"{name} must not be negative, got {array.min():g}")
    return array


def shares(name: str, value: ArrayLike) -> FloatArray:
    """Return ``value`` as floats from 0 to 1; else a ValueError that names ``name``."""
    array = numbers(name, value)
    if ((array < 0.0) | (array > 1.0)).any():
        raise ValueError(f"{name} must lie from 0 to 1")
    return array


def clumping(name: str, value: ArrayLike) -> FloatArray:
    """Return ``value`` as floats above zero; infinity (no clumping at all) is allowed."""
    array = np.asarray(value, dtype=np.float64)
    if np.isnan(array).any() or (array <= 0.0).any():
        raise ValueError(f"{name} must be above zero")
    return array


def counted(counts: ArrayLike) -> tuple[FloatArray, float, float]:
    """Return counts on sample units as floats, their mean and their variance (divisor n - 1)."""
    seen = not_negative("counts", counts)
    if seen.ndim != 1 or seen.size < 2:
        raise ValueError("counts must be a row of at least two units")
    mean = float(seen.mean())
    if mean == 0.0:
        raise ValueError("nothing was counted: clumping has no estimate")
    return seen, mean, float(seen.var(ddof=1))


def plain(array: FloatArray) -> FloatArray:
    """Return an array without axes as a plain number, any other array as it is."""
    return array[()]
