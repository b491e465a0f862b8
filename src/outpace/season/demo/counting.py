"""What a scout on the invented farm would count: an exponential course, and clumped draws from it.

This is a small mechanism of its own. It shares nothing with the simulation that later reads the counts.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

#: Taylor's law in the invented houses: variance = A·mean^B.
A, B = 3.0, 1.4

Points = Sequence[tuple[int, float]]


@dataclass(frozen=True, slots=True)
class Course:
    """Means by days ago, with exponential growth or decline between the points; zero before the first."""

    points: Points

    def mean(self, ago: int) -> float:
        """Return the mean so many days ago."""
        ordered = sorted(self.points, key=lambda point: -point[0])
        if not ordered or ago > ordered[0][0]:
            return 0.0
        for (early, before), (late, after) in itertools.pairwise(ordered):
            if late <= ago <= early:
                share = (early - ago) / (early - late)
                return math.exp((1 - share) * math.log(before) + share * math.log(after))
        return ordered[-1][1]


def draw(course: Course, ago: int, units: int, seed: Sequence[int]) -> list[int]:
    """Return the counts on so many units: negative binomial, its clumping by Taylor's law.

    Parameters
    ----------
    seed : sequence of int
        The same seed gives the same counts, in any order of calls.
    """
    mean = course.mean(ago)
    if mean <= 0:
        return [0] * units
    random = np.random.default_rng([*seed, ago])
    variance = A * mean**B
    if variance <= mean * 1.001:
        return [int(number) for number in random.poisson(mean, units)]
    clumping = mean**2 / (variance - mean)
    return [int(number) for number in random.poisson(random.gamma(clumping, mean / clumping, units))]


def as_counted(number: int) -> str:
    """Return a count as a scout writes it: exact while it is easy, then a class."""
    if number <= 10:
        return str(number)
    if number <= 30:
        return "11to30"
    return "31to100" if number <= 100 else "over100"
