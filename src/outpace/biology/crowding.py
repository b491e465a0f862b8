"""Indices of how insects share their leaves: Lloyd's mean crowding and patchiness, Morisita's index."""

from __future__ import annotations

from numpy.typing import ArrayLike

from outpace.biology.inputs import counted


def mean_crowding(counts: ArrayLike) -> float:
    """Return the mean number of neighbours that an individual has on its own sample unit.

    Parameters
    ----------
    counts : array of float, shape (units,)
        Individuals on each unit. [1]

    Returns
    -------
    crowding : float
        ``m + s²/m - 1``; *m\\** in the paper. [1]

    Raises
    ------
    ValueError
        If fewer than two units, a negative count or nothing but zeros is given.

    References
    ----------
    Lloyd1967, recalled.

    Examples
    --------
    >>> round(mean_crowding([0, 0, 4, 4]), 3)
    3.667
    """
    _, mean, variance = counted(counts)
    return mean + variance / mean - 1.0


def patchiness(counts: ArrayLike) -> float:
    """Return mean crowding over the mean, 1 at random.

    Parameters
    ----------
    counts : array of float, shape (units,)
        [1]

    Returns
    -------
    ratio : float
        [1]

    Raises
    ------
    ValueError
        As in `mean_crowding`.

    References
    ----------
    Lloyd1967, recalled.

    Examples
    --------
    >>> round(patchiness([0, 0, 4, 4]), 3)
    1.833
    """
    return mean_crowding(counts) / counted(counts)[1]


def morisita_index(counts: ArrayLike) -> float:
    """Return Morisita's index of dispersion, 1 at random and the number of units if all sit on one.

    Parameters
    ----------
    counts : array of float, shape (units,)
        [1]

    Returns
    -------
    index : float
        ``n Σx(x-1) / (X (X-1))`` with *X* the sum of counts. [1]

    Raises
    ------
    ValueError
        As in `mean_crowding`; also if only one individual was counted.

    References
    ----------
    Morisita1959, recalled.

    Examples
    --------
    >>> morisita_index([0, 0, 0, 8])
    4.0
    """
    seen, _, _ = counted(counts)
    total = float(seen.sum())
    if total <= 1.0:
        raise ValueError("counts must hold more than one individual")
    return float(seen.size * (seen * (seen - 1.0)).sum() / (total * (total - 1.0)))
