"""Where in a house to let go: points an enemy can search from, how many at each, and the way to walk them.

How far an enemy gets from where it is let go is disputed; each published view gives a layout of its own, and none is
called right. No point gets fewer than the least number of insects, so a few insects cannot be at many points: how much
of the floor then lies in reach is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, hypot

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

from outpace.facts.table import Fact, Facts

Array = NDArray[np.float64]

VIEWS = ("far", "near")
HOT_SPOT, DOOR, VENT, PLAIN = "hot spot", "door", "vent", "plain"
MARKS_FIRST = (HOT_SPOT, DOOR, VENT)
"""Which marks keep their point where there are too few insects for all."""

GRID_PER_SIDE = 120


@dataclass(frozen=True, slots=True)
class Plot:
    """One zone as a rectangle; plant rows run along its length. [m]"""

    zone: str
    length_m: float
    width_m: float

    @property
    def area_m2(self) -> float:
        """Return the floor area. [m²]"""
        return self.length_m * self.width_m

    @classmethod
    def of_area(cls, zone: str, area_m2: float) -> Plot:
        """Return a square of that area, for a zone whose sides were not told."""
        return cls(zone, area_m2**0.5, area_m2**0.5)


@dataclass(frozen=True, slots=True)
class Mark:
    """A place that is to get more: a door, a vent, a past hot spot; metres from the corner where the walk begins."""

    zone: str
    kind: str
    along_m: float
    across_m: float


@dataclass(frozen=True, slots=True)
class Reach:
    """One published view of how far an enemy gets in a day. [m]"""

    view: str
    fact: Fact

    @property
    def metres(self) -> float:
        """Return the distance. [m]"""
        return self.fact.value


@dataclass(frozen=True, slots=True)
class PointRules:
    """What the trade holds on points, each with its row: least insects, more at marks, area and distance of points."""

    least_number: Fact
    mark_factor: Fact
    area: Fact
    spacing: Fact


@dataclass(frozen=True, slots=True)
class Point:
    """One point, numbered in the order of the walk.

    ``number`` is what it is meant to get; ``low`` and ``high`` hold what lies in its carrier in 95 of 100 cases, since
    animals are not spread evenly in the carrier. ``carrier`` is its part of the carrier, in the unit the whole was
    given in, or None.
    """

    no: int
    zone: str
    kind: str
    along_m: float
    across_m: float
    number: int
    low: int
    high: int
    carrier: float | None


@dataclass(frozen=True, slots=True)
class Layout:
    """The points of one view.

    ``wanted`` is how many plain points would put all of the floor in reach; ``covered`` the share of the floor that is
    in reach; ``left_out`` the marks that got no point for lack of insects; ``too_few`` whether a point gets fewer than
    the least number even so; ``walk_m`` the way from first to last point within the zones. [m]
    """

    reach: Reach
    points: tuple[Point, ...]
    wanted: int
    covered: float
    left_out: tuple[Mark, ...]
    too_few: bool
    walk_m: float


def reaches(facts: Facts, enemy: str) -> tuple[Reach, ...]:
    """Return both published views of how far an enemy gets, the far one first."""
    return tuple(Reach(view, facts.one(enemy, "point_reach", stage=view)) for view in VIEWS)


def rules_of(facts: Facts, enemy: str) -> PointRules:
    """Return what the trade holds on points."""
    return PointRules(
        least_number=facts.one(enemy, "point_least_number"),
        mark_factor=facts.one(enemy, "hot_spot_factor"),
        area=facts.one(enemy, "point_area"),
        spacing=facts.one(enemy, "point_spacing"),
    )


def usual_points(plot: Plot, rules: PointRules) -> tuple[int, int]:
    """Return the fewest and the most points that the trade's two rules, by area and by distance, come to.

    Raises
    ------
    ValueError
        If a rule has no range.
    """
    counts = []
    for area in _range(rules.area):
        counts.append(max(1, round(plot.area_m2 / area)))
    for spacing in _range(rules.spacing):
        counts.append(ceil(plot.length_m / spacing) * ceil(plot.width_m / spacing))
    return min(counts), max(counts)


def lay_out(
    plots: Sequence[Plot],
    marks: Sequence[Mark],
    number: int,
    reach: Reach,
    rules: PointRules,
    carrier: float | None = None,
) -> Layout:
    """Return where to let a number of insects go, by one view of their reach.

    The fewest points that put all of the floor in reach are taken, or as many as the least number at a point allows,
    spread so that the farthest place is as near as can be. Marks get a point of their own, and more at it.

    Parameters
    ----------
    plots : sequence of Plot
        The zones; the insects are shared among them by area, and each gets one point at least.
    marks : sequence of Mark
    number : int
        Insects in all, as the label counts.
    carrier : float, optional
        Carrier in all, in any unit of volume or weight; its parts are told in that unit.

    Returns
    -------
    layout : Layout

    Raises
    ------
    ValueError
        If there is no plot, a side or the number is not above zero, or a mark lies outside its plot.
    """
    _check(plots, marks, number)
    least, factor = rules.least_number.value, rules.mark_factor.value
    placed: list[tuple[str, str, float, float, int]] = []
    left_out: list[Mark] = []
    wanted, in_reach = 0, 0.0
    for plot, share in zip(plots, split(number, [plot.area_m2 for plot in plots]), strict=True):
        here = [mark for mark in marks if mark.zone == plot.zone]
        here.sort(key=lambda mark: (MARKS_FIRST.index(mark.kind), mark.along_m, mark.across_m))
        weight = floor(share / least)
        kept = here[: max(0, floor((weight - 1) / factor))]
        left_out += here[len(kept) :]
        along, across = _grid(plot, reach.metres, max(1, floor(weight - factor * len(kept))))
        wanted += _points_wanted(plot, reach.metres)
        spots = [
            (PLAIN, x, y) for y in _middles(plot.width_m, across) for x in _middles(plot.length_m, along)
        ]
        spots += [(mark.kind, mark.along_m, mark.across_m) for mark in kept]
        numbers = split(share, [1.0 if kind == PLAIN else factor for kind, _, _ in spots])
        order = _walk(spots, plot.width_m, across)
        placed += [(plot.zone, *spots[i], numbers[i]) for i in order]
        in_reach += plot.area_m2 * _share_within(plot, [(x, y) for _, x, y in spots], reach.metres)
    points = tuple(
        Point(
            no=no,
            zone=zone,
            kind=kind,
            along_m=x,
            across_m=y,
            number=count,
            low=spread_of(number, count)[0],
            high=spread_of(number, count)[1],
            carrier=None if carrier is None else carrier * count / number,
        )
        for no, (zone, kind, x, y, count) in enumerate(placed, 1)
    )
    return Layout(
        reach=reach,
        points=points,
        wanted=wanted,
        covered=in_reach / sum(plot.area_m2 for plot in plots),
        left_out=tuple(left_out),
        too_few=any(point.number < least for point in points),
        walk_m=sum(
            hypot(b.along_m - a.along_m, b.across_m - a.across_m)
            for a, b in pairwise(points)
            if a.zone == b.zone
        ),
    )


def covered_by(plots: Sequence[Plot], points: Sequence[Point], reach: Reach) -> float:
    """Return the share of the floor that lies within a reach of the points, whoever laid them out."""
    within = sum(
        plot.area_m2
        * _share_within(plot, [(p.along_m, p.across_m) for p in points if p.zone == plot.zone], reach.metres)
        for plot in plots
    )
    return within / sum(plot.area_m2 for plot in plots)


def spread_of(number: int, meant: int) -> tuple[int, int]:
    """Return between which counts a part of the carrier lies in 95 of 100 cases.

    Every animal is in the part with the same chance, by its share of the carrier: a binomial count. Animals that cling
    together spread wider.

    Examples
    --------
    >>> spread_of(500, 25)
    (16, 35)
    """
    share = meant / number
    return int(binom.ppf(0.025, number, share)), int(binom.ppf(0.975, number, share))


def split(number: int, weights: Sequence[float]) -> list[int]:
    """Return whole parts that add up to the number, as near to the weights as they can be.

    What rounding leaves goes to the largest remainders, of equal ones to the earlier.

    Examples
    --------
    >>> split(100, [1.0, 1.0, 1.0])
    [34, 33, 33]
    """
    total = sum(weights)
    exact = [number * weight / total for weight in weights]
    parts = [floor(value + 1e-9) for value in exact]
    by_rest = sorted(range(len(parts)), key=lambda i: (-round(exact[i] - parts[i], 9), i))
    for i in by_rest[: number - sum(parts)]:
        parts[i] += 1
    return parts


def _check(plots: Sequence[Plot], marks: Sequence[Mark], number: int) -> None:
    sides = {plot.zone: (plot.length_m, plot.width_m) for plot in plots}
    if not plots or number <= 0 or any(min(pair) <= 0 for pair in sides.values()):
        raise ValueError("plots with sides, and a number, above zero are needed")
    for mark in marks:
        if mark.zone not in sides or mark.kind not in MARKS_FIRST:
            raise ValueError(
                f"mark {mark.kind} in {mark.zone}: kinds are {MARKS_FIRST}, zones {tuple(sides)}"
            )
        length, width = sides[mark.zone]
        if not (0 <= mark.along_m <= length and 0 <= mark.across_m <= width):
            raise ValueError(f"mark {mark.kind} lies outside {mark.zone}")


def _range(fact: Fact) -> tuple[float, float]:
    if fact.low is None or fact.high is None:
        raise ValueError(f"{fact.key} has no range")
    return fact.low, fact.high


def _farthest(plot: Plot, along: int, across: int) -> float:
    """Return the distance from the farthest place of a plot to its nearest grid point. [m]"""
    return hypot(plot.length_m / along / 2, plot.width_m / across / 2)


def _grid(plot: Plot, reach_m: float, most: int) -> tuple[int, int]:
    """Return the points along and across: the fewest with all in reach, else those with the farthest place nearest."""
    shapes = [(along, across) for along in range(1, most + 1) for across in range(1, most // along + 1)]
    within = [shape for shape in shapes if _farthest(plot, *shape) <= reach_m]
    if within:
        return min(within, key=lambda shape: (shape[0] * shape[1], _farthest(plot, *shape), shape))
    return min(shapes, key=lambda shape: (round(_farthest(plot, *shape), 9), shape[0] * shape[1], shape))


def _points_wanted(plot: Plot, reach_m: float) -> int:
    """Return the fewest grid points with all of a plot in reach."""
    fewest = None
    for along in range(
        ceil(plot.length_m / 2 / reach_m), ceil(plot.length_m * plot.width_m / reach_m**2) + 2
    ):
        left = reach_m**2 - (plot.length_m / along / 2) ** 2
        if left <= 0:
            continue
        count = along * max(1, ceil(plot.width_m / 2 / left**0.5 - 1e-9))
        fewest = count if fewest is None else min(fewest, count)
        if along > fewest:
            break
    return fewest or 1


def _middles(side_m: float, parts: int) -> list[float]:
    return [side_m * (i + 0.5) / parts for i in range(parts)]


def _walk(spots: Sequence[tuple[str, float, float]], width_m: float, lanes: int) -> list[int]:
    """Return the order of a walk up one lane and down the next."""
    lane = [min(lanes - 1, int(y / width_m * lanes)) for _, _, y in spots]

    def place(i: int) -> tuple[int, float, float, int]:
        _, x, y = spots[i]
        return (lane[i], x if lane[i] % 2 == 0 else -x, y, i)

    return sorted(range(len(spots)), key=place)


def _share_within(plot: Plot, spots: Sequence[tuple[float, float]], reach_m: float) -> float:
    """Return the share of a plot within reach of a point, on a fine grid of cell middles."""
    x: Array = np.array(_middles(plot.length_m, GRID_PER_SIDE))[:, None]
    y: Array = np.array(_middles(plot.width_m, GRID_PER_SIDE))[None, :]
    nearest = np.full((GRID_PER_SIDE, GRID_PER_SIDE), np.inf)
    for along, across in spots:
        np.minimum(nearest, (x - along) ** 2 + (y - across) ** 2, out=nearest)
    return float((nearest <= reach_m**2 * (1 + 1e-12)).mean())
