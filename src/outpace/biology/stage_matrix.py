"""Growth of a population from a stage matrix: its factor, its structure, and whether it ever settles."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from outpace.biology.inputs import FloatArray, not_negative


def matrix_growth(matrix: ArrayLike) -> float:
    """Return the factor by which a population with this stage matrix grows in a step.

    Parameters
    ----------
    matrix : array of float, shape (stages, stages)
        Entry (i, j): individuals in stage i after a step for each one in stage j before. [1]

    Returns
    -------
    factor : float
        The dominant eigenvalue λ, also of a matrix whose population cycles for ever (see `cycle_length`). [1]

    Raises
    ------
    ValueError
        If the matrix is not square or an entry is negative.

    References
    ----------
    Caswell2001, recalled.

    Examples
    --------
    >>> round(matrix_growth([[0.0, 0.0, 2.0], [0.3, 0.0, 0.0], [0.0, 0.6, 0.0]]), 6)
    0.711379
    """
    return float(np.abs(np.linalg.eigvals(_square(matrix))).max())


def matrix_structure(matrix: ArrayLike) -> FloatArray:
    """Return the share of each stage that a population with this stage matrix tends to.

    Parameters
    ----------
    matrix : array of float, shape (stages, stages)
        As in `matrix_growth`. [1]

    Returns
    -------
    structure : array of float, shape (stages,)
        Shares that add up to 1. [1]

    Raises
    ------
    ValueError
        As in `matrix_growth`.

    Examples
    --------
    >>> matrix_structure([[0.0, 2.0], [0.5, 0.0]]).round(3)
    array([0.667, 0.333])
    """
    values, vectors = np.linalg.eig(_square(matrix))
    # Of all eigenvalues as large as the dominant one only that one is real and positive.
    vector = np.abs(vectors[:, int(np.argmax(values.real))].real)
    return np.asarray(vector / vector.sum())


def cycle_length(matrix: ArrayLike) -> int:
    """Return the period after which a population with this stage matrix repeats its structure.

    Parameters
    ----------
    matrix : array of float, shape (stages, stages)
        As in `matrix_growth`. [1]

    Returns
    -------
    steps : int
        Number of eigenvalues as large as the dominant one; 1 where the structure settles.

    Raises
    ------
    ValueError
        As in `matrix_growth`.

    Examples
    --------
    >>> cycle_length([[0.0, 0.0, 2.0], [0.3, 0.0, 0.0], [0.0, 0.6, 0.0]])
    3
    """
    sizes = np.abs(np.linalg.eigvals(_square(matrix)))
    return int((sizes >= sizes.max() * (1.0 - 1e-9)).sum())


def _square(matrix: ArrayLike) -> FloatArray:
    array = not_negative("matrix", matrix)
    if array.ndim != 2 or array.shape[0] != array.shape[1] or array.size == 0:
        raise ValueError("a stage matrix must be square")
    return array
