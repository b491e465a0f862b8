"""Hours of daylight by latitude and day of the year."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

SUN_ON_HORIZON = 0.833
"""How far the centre of the sun stands below the horizon when its rim rises, by refraction and size. [degrees]"""


def day_length(latitude: ArrayLike, day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Return the hours from sunrise to sunset.

    The model of Forsythe and others [1]_: within some minutes of the almanac up to the polar circles, beyond which
    the sun may not rise or not set at all.

    Parameters
    ----------
    latitude : float or array of float
        North above 0. [degrees]
    day_of_year : int or array of int
        1 is the first of January.

    Returns
    -------
    hours : array of float
        0 to 24. [h]

    References
    ----------
    .. [1] Forsythe1995

    Examples
    --------
    >>> day_length(52.0, [80, 172, 355]).round(1)
    array([12.2, 16.7,  7.7])
    >>> float(day_length(-34.0, 172).round(1))
    9.9
    """
    day = np.asarray(day_of_year, dtype=np.float64)
    revolution = 0.2163108 + 2.0 * np.arctan(0.9671396 * np.tan(0.00860 * (day - 186.0)))
    declination = np.arcsin(0.39795 * np.cos(revolution))
    north = np.radians(np.asarray(latitude, dtype=np.float64))
    below = np.sin(np.radians(SUN_ON_HORIZON))
    cosine = (below + np.sin(north) * np.sin(declination)) / (np.cos(north) * np.cos(declination))
    return np.asarray(24.0 - 24.0 / np.pi * np.arccos(np.clip(cosine, -1.0, 1.0)))
