"""What a scout sees of what is there: learned only where two scouts looked at the same plants.

Of the plants on which one found aphids, the share on which the other found some too is the other's detection. It takes
the two to miss independently; plants that hide aphids from both make each look better than it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta

from outpace.estimation.beta_range import beta_of_range

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DoubleCount:
    """Plants that two scouts looked at: on how many both, only the first, only the second found aphids."""

    first: str
    second: str
    both: int
    only_first: int
    only_second: int


@dataclass(frozen=True, slots=True)
class Eye:
    """A scout's detection of an infested plant, as a beta law; ``plants`` of double counts stand behind it."""

    a: float
    b: float
    plants: int

    @property
    def mean(self) -> float:
        return self.a / (self.a + self.b)

    @property
    def ends(self) -> tuple[float, float]:
        """Return the 90 % range."""
        return float(beta.ppf(0.05, self.a, self.b)), float(beta.ppf(0.95, self.a, self.b))


def eyes(prior: tuple[float, float, float], doubles: Iterable[DoubleCount]) -> dict[str, Eye]:
    """Return each scout's detection after double counts.

    Parameters
    ----------
    prior : tuple of float
        Mean and 90 % range of scouts at large.
    doubles : iterable of DoubleCount

    Examples
    --------
    >>> found = eyes((0.7, 0.45, 0.88), [DoubleCount("Ana", "Bo", both=18, only_first=2, only_second=9)])
    >>> float(round(found["Ana"].mean, 2)), float(round(found["Bo"].mean, 2))
    (0.68, 0.83)
    """
    a, b = beta_of_range(*prior)
    found: dict[str, Eye] = {}
    for double in doubles:
        for scout, missed in ((double.first, double.only_second), (double.second, double.only_first)):
            known = found.get(scout, Eye(a, b, 0))
            found[scout] = Eye(known.a + double.both, known.b + missed, known.plants + double.both + missed)
    return found


def compare(first: str, second: str, counts: Mapping[str, tuple[bool | None, bool | None]]) -> DoubleCount:
    """Return the double count of two walks, from plant → found by the first, found by the second.

    A plant at which one of the two did not look says nothing.

    Examples
    --------
    >>> compare("Ana", "Bo", {"1": (True, True), "2": (False, True), "3": (True, None)})
    DoubleCount(first='Ana', second='Bo', both=1, only_first=0, only_second=1)
    """
    pairs = [(one, two) for one, two in counts.values() if one is not None and two is not None]
    return DoubleCount(
        first,
        second,
        sum(one and two for one, two in pairs),
        sum(one and not two for one, two in pairs),
        sum(two and not one for one, two in pairs),
    )
