"""Degree-day methods against the printed tables, and against numerical integration of the curve they assume."""

from __future__ import annotations

import numpy as np
import pytest

from outpace.biology.degree_days import (
    CUTOFFS,
    Cutoff,
    double_sine,
    double_triangle,
    from_records,
    simple_average,
    single_sine,
    single_triangle,
)
from outpace.biology.temperature_response import threshold_and_constant

# Source: Zalom et al. 1983, table 7: lower threshold 55 °F, upper 90 °F, horizontal cut-off. Evidence: read.
# Of its twelve rows these five are carried over; the remaining cases are covered by integration below.
# minimum, maximum, next minimum; single triangle, double triangle, single sine, double sine.
ZALOM = [
    (96, 110, 91, 35.00, 35.00, 35.00, 35.00),
    (91, 105, 96, 35.00, 35.00, 35.00, 35.00),
    (45, 54, 38, 0.00, 0.00, 0.00, 0.00),
    (60, 80, 75, 15.00, 18.75, 15.00, 18.75),
    # The table prints 24.88 for the double triangle of this row. That is a misprint: the area is
    # by hand 23.75 on the way up and 30.5 on the way down, 27.125 together. Evidence: derived.
    (60, 100, 75, 23.75, 27.125, 22.82, 26.26),
]

# Source: McMaster and Wilhelm 1997, table 1, base 0 °C: maximum, minimum, method 1, method 2. Evidence: read.
MCMASTER = [
    (20, 10, 15, 15),
    (10, 1, 5.5, 5.5),
    (8, -2, 3, 4),
    (6, 0, 3, 3),
    (10, 5, 7.5, 7.5),
    (5, -5, 0, 2.5),
    (-2, -7, 0, 0),
    (-5, -10, 0, 0),
    (10, -2, 4, 5),
    (15, 2, 8.5, 8.5),
]


@pytest.mark.parametrize("row", ZALOM)
def test_curve_methods_reproduce_the_handbook_table(row: tuple[float, ...]) -> None:
    low, high, after, triangle, triangles, sine, sines = row
    assert single_triangle(low, high, 55, 90) == pytest.approx(triangle, abs=0.005)
    assert double_triangle(low, high, after, 55, 90) == pytest.approx(triangles, abs=0.005)
    assert single_sine(low, high, 55, 90) == pytest.approx(sine, abs=0.005)
    assert double_sine(low, high, after, 55, 90) == pytest.approx(sines, abs=0.005)


@pytest.mark.parametrize("row", MCMASTER)
def test_both_readings_of_the_simple_average_reproduce_their_table(row: tuple[float, ...]) -> None:
    high, low, first, second = row
    assert simple_average(low, high, 0.0) == first
    assert simple_average(low, high, 0.0, clip_first=True) == second


def test_a_mean_of_64_over_a_base_of_53_gives_11() -> None:
    # Source: a university extension page on degree-days, the mean 64 °F and base 53 °F. Evidence: read.
    assert simple_average(54.0, 74.0, 53.0) == 11.0


def test_threshold_and_constant_come_back_from_a_published_line() -> None:
    # Source: Jarošík et al. 2011, entry of Aphis craccivora: aa -0.10375, bb 0.0125. Evidence: read, then derived.
    threshold, constant = threshold_and_constant(-0.10375, 0.0125)
    assert threshold == pytest.approx(8.3)
    assert constant == pytest.approx(80.0)


# All orders in which minimum and maximum can lie to two thresholds, next minimum below and above the first.
DAYS = [
    (2, 5, 4),
    (4, 20, 9),
    (4, 38, 12),
    (12, 25, 8),
    (12, 38, 20),
    (31, 38, 33),
    (15, 15, 10),
    (33, 33, 33),
]
POINTS = (np.arange(400_000) + 0.5) / 400_000


def integrated(low: float, high: float, after: float, cutoff: str, wave: str) -> float:
    """Return heat over 7 °C, upper threshold 30 °C, by adding up many moments: no formula of areas."""
    halves = []
    for least in (low, after):
        if wave == "triangle":
            course = least + (high - least) * POINTS
        else:
            course = least + (high - least) * (1 - np.cos(np.pi * POINTS)) / 2
        if cutoff == "horizontal":
            heat = np.clip(course, 7, 30) - 7
        elif cutoff == "vertical":
            heat = np.where(course > 30, 0.0, np.clip(course, 7, 30) - 7)
        else:
            heat = np.clip(course, 7, 30) - 7 - np.clip(course - 30, 0, None)
        halves.append(heat.mean())
    return max(0.0, float(np.mean(halves)))


@pytest.mark.parametrize("cutoff", CUTOFFS)
@pytest.mark.parametrize("day", DAYS)
def test_areas_equal_the_sum_of_many_moments(day: tuple[float, float, float], cutoff: Cutoff) -> None:
    # Source: definition of the curves; rectangles, shares no formula with the code. Evidence: derived.
    low, high, after = day
    near = {"abs": 2e-4}
    assert single_triangle(low, high, 7, 30, cutoff=cutoff) == pytest.approx(
        integrated(low, high, low, cutoff, "triangle"), **near
    )
    assert double_triangle(low, high, after, 7, 30, cutoff=cutoff) == pytest.approx(
        integrated(low, high, after, cutoff, "triangle"), **near
    )
    assert single_sine(low, high, 7, 30, cutoff=cutoff) == pytest.approx(
        integrated(low, high, low, cutoff, "sine"), **near
    )
    assert double_sine(low, high, after, 7, 30, cutoff=cutoff) == pytest.approx(
        integrated(low, high, after, cutoff, "sine"), **near
    )


@pytest.mark.parametrize("cutoff", ["horizontal", "vertical"])
def test_minutes_of_a_sine_day_add_up_to_the_sine_method(cutoff: Cutoff) -> None:
    # Source: the two definitions must meet when the record is fine enough; a minute in which the course crosses
    # the threshold is worth 23 °C d / 1440. Evidence: derived.
    minutes = 22 - 12 * np.cos(2 * np.pi * (np.arange(1440) + 0.5) / 1440)
    added = from_records(minutes, 7, 30, cutoff=cutoff, hours=1 / 60).sum()
    assert added == pytest.approx(single_sine(10, 34, 7, 30, cutoff=cutoff), abs=0.02)
