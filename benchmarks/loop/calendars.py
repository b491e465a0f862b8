"""Policies that need no forecast: the trade's calendars, thresholds, a constant rate, front-loaded calendars.

Each is made for one season and then asked after every walk. Calendars are ordered ahead, so that a skipped walk skips
no parcel; rates are told by the facts of the product, in insects per m² and release.
"""

from __future__ import annotations

from dataclasses import dataclass

from benchmarks.loop.market import LEAD_D, WEEK_D, number_of, order_now, packs_at
from benchmarks.skill.reading import mean_written
from benchmarks.virtual_house.season import LONGEST_D, Known, Plan, Policy

from outpace.facts.table import Facts


@dataclass(frozen=True, slots=True)
class Rhythm:
    """How often the trade releases for a use, and how many times at least; read from the facts."""

    interval_d: int
    releases: int


def rhythm_of(facts: Facts, use: str) -> Rhythm:
    """Return the trade's rhythm for a use."""
    found = next(item for item in facts.release_rhythms if item.use == use)
    return Rhythm(found.interval_d, found.releases)


def preventive(facts: Facts, rate: float) -> Policy:
    """Return the calendar from planting on: a rate every other week, on through the season."""
    every = rhythm_of(facts, "preventive").interval_d

    def decide(known: Known) -> Plan:
        return Plan() if known.parcels else _row(known, packs_at(rate), every, 0)

    return decide


def constant(rate: float) -> Policy:
    """Return the policy that releases the same every week of the season."""

    def decide(known: Known) -> Plan:
        return Plan() if known.parcels else _row(known, packs_at(rate), WEEK_D, 0)

    return decide


def curative(facts: Facts, rate: float) -> Policy:
    """Return the calendar on sight: weekly so many times from the first find; again if aphids are found after that."""
    rhythm = rhythm_of(facts, "curative")

    def decide(known: Known) -> Plan:
        coming = max((parcel.planned for parcel in known.parcels), default=-1)
        if coming >= known.day or not known.walks[-1].infested:
            return Plan()
        return _row(known, packs_at(rate), rhythm.interval_d, rhythm.releases)

    return decide


def both(facts: Facts, low: float, high: float) -> Policy:
    """Return the preventive calendar until the first find, the curative one on it, and the preventive one again."""
    before, on_sight = rhythm_of(facts, "preventive"), rhythm_of(facts, "curative")

    def decide(known: Known) -> Plan:
        last = max((parcel.planned for parcel in known.parcels), default=-before.interval_d)
        if known.found and not _found_before(known):
            return _row(known, packs_at(high), on_sight.interval_d, on_sight.releases)
        if known.day + LEAD_D - last >= before.interval_d:
            return order_now(packs_at(low), known.place.area_m2)
        return Plan()

    return decide


def threshold(share: float, rate: float) -> Policy:
    """Return the rule that releases a rate in each week whose walk found more than a share of the action level."""

    def decide(known: Known) -> Plan:
        leaves = float(max(1, round(known.place.leaves)))
        found = mean_written(known.walks[-1], leaves) / (leaves if known.habit.unit == "leaf" else 1.0)
        return order_now(packs_at(rate), known.place.area_m2) if found > share * known.level else Plan()

    return decide


@dataclass(frozen=True, slots=True)
class Front:
    """A calendar that puts its packs first.

    ``first`` packs in the first release and ``fade`` times as many in each that follows, ``every`` so many days,
    ``releases`` in all and never fewer than ``floor`` packs; from planting on, or from the first find.
    """

    first: int
    fade: float
    releases: int
    every: int = WEEK_D
    floor: int = 0
    on_find: bool = False

    @property
    def packs(self) -> tuple[int, ...]:
        """Return the packs of each release."""
        return tuple(max(self.floor, round(self.first * self.fade**index)) for index in range(self.releases))


def front_loaded(front: Front) -> Policy:
    """Return the policy that follows a front-loaded calendar."""

    def decide(known: Known) -> Plan:
        if known.parcels or (front.on_find and not known.found):
            return Plan()
        days = [LEAD_D + front.every * index for index in range(front.releases)]
        return Plan(
            tuple(
                (day, number_of(packs, known.place.area_m2))
                for day, packs in zip(days, front.packs, strict=True)
                if packs and known.day + day < LONGEST_D
            )
        )

    return decide


def nothing(known: Known) -> Plan:
    """Buy nothing."""
    return Plan()


def _row(known: Known, packs: int, every: int, releases: int) -> Plan:
    """Return a row of parcels from the next delivery on; without a number of releases to the end of the season."""
    if not packs:
        return Plan()
    days = range(LEAD_D, LONGEST_D - known.day, every)
    number = number_of(packs, known.place.area_m2)
    return Plan(tuple((day, number) for day in (days[:releases] if releases else days)))


def _found_before(known: Known) -> bool:
    return any(walk.infested for walk in known.walks[:-1])
