"""What the coming weeks and the house itself say for and against each enemy, beside whether it accepts the aphid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from outpace.biology.day_length import day_length
from outpace.facts.table import Fact, Facts, weakest
from outpace.language import say
from outpace.measures import temperature
from outpace.planning.candidates import Candidate

Array = NDArray[np.float64]

NOW, LATER, PART, NOT, UNKNOWN = "fits now", "fits later", "fits in part", "does not fit", "not known"
SPOT_GUILDS = ("lacewing", "ladybird")
STEADY_D = 3
"""So many days on end must be warm enough before a release is offered."""


@dataclass(frozen=True)
class Window:
    """The coming weeks in the crop, day by day.

    Attributes
    ----------
    light : array of float, shape (days,)
        Mean of the hours between sunrise and sunset. [°C]
    night : array of float, shape (days,)
        Mean of the other hours. [°C]
    hottest : array of float, shape (days,)
    daylight : array of float, shape (days,)
        Length of the day. [h]
    """

    light: Array
    night: Array
    hottest: Array
    daylight: Array


def window(hours: Array, latitude: float, day_of_year: int) -> Window:
    """Return the window of some whole days of hourly temperatures, the middle of their members.

    Parameters
    ----------
    hours : array of float, shape (hours, members)
        From the midnight that begins the first day. [°C]

    Examples
    --------
    >>> two_days = np.tile(np.where(abs(np.arange(24) - 12) < 6, 18.0, 8.0), 2)[:, None]
    >>> found = window(two_days, 51.0, 80)
    >>> found.light.round(), found.night.round(), found.daylight.round()
    (array([17., 17.]), array([8., 8.]), array([12., 12.]))
    """
    middle = np.median(hours, axis=1)
    days = middle[: len(middle) // 24 * 24].reshape(-1, 24)
    length = np.array(
        [float(day_length(latitude, (day_of_year - 1 + d) % 365 + 1)) for d in range(len(days))]
    )
    lit = np.abs(np.arange(24)[None, :] + 0.5 - 12.0) <= np.clip(length, 1.0, 23.0)[:, None] / 2.0
    return Window(
        light=np.where(lit, days, 0.0).sum(axis=1) / lit.sum(axis=1),
        night=np.where(lit, 0.0, days).sum(axis=1) / (~lit).sum(axis=1),
        hottest=days.max(axis=1),
        daylight=length,
    )


@dataclass(frozen=True)
class Standing:
    """What the house itself says.

    ``use`` is preventive, light or curative; ``there`` the adult enemies that search by species; ``held`` why nothing
    may be let go today and ``free_in_d`` after how many days it may, None where that is not known.
    """

    use: str = "light"
    floor: str | None = None
    humidity: float | None = None
    ants: bool = False
    leaf_crop: bool = False
    there: dict[str, float] = field(default_factory=dict)
    held: str | None = None
    free_in_d: int | None = 0
    ragged_share: float | None = None


@dataclass(frozen=True)
class Match:
    """One enemy in one house: its state, from which day on, and every reason with the facts it rests on."""

    enemy: str
    state: str
    in_d: int | None
    pests: tuple[str, ...]
    for_it: tuple[str, ...]
    against: tuple[str, ...]
    facts: tuple[Fact, ...]

    @property
    def evidence(self) -> str:
        """Return the weakest evidence among the reasons."""
        return weakest(self.facts)


def warm_from(light: Array, least: float) -> int | None:
    """Return the first day from which some days on end are warm enough by day; None: not in sight.

    Examples
    --------
    >>> warm_from(np.array([9.0, 13.0, 9.0, 13.0, 13.0, 14.0]), 12.0)
    3
    """
    enough = light >= least
    for day in range(len(light) - STEADY_D + 1):
        if enough[day : day + STEADY_D].all():
            return day
    return None


def cold_share(light: Array, least: float, days: int = 14) -> float:
    """Return the share of the coming days that are too cold by day."""
    return float((light[:days] < least).mean())


def matched(facts: Facts, found: Candidate, ahead: Window, house: Standing, pests: Sequence[str]) -> Match:
    """Return an enemy with the reasons of the coming weeks and of the house beside those of its hosts."""
    guild = facts.species[found.enemy].guild
    for_it, against, used = list(found.for_it), list(found.against), list(found.facts)
    cold_d = _cold(facts, found.enemy, ahead, against, used)
    asleep = guild == "midge" and _rests(facts, found.enemy, ahead, against, for_it, used)
    _house(facts, found.enemy, guild, house, for_it, against, used)
    if not found.pests:
        unknown = any(
            facts.find(found.enemy, "host_match", other_species=pest) is None for pest in pests
        ) or ("unknown_aphid" in pests)
        return _match(found, UNKNOWN if unknown else NOT, None, for_it, against, used)
    waits = [day for day in (cold_d, house.free_in_d) if day]
    if cold_d is None or house.free_in_d is None:
        return _match(found, LATER, None, for_it, against, used)
    if asleep:
        return _match(found, PART, 0, for_it, against, used)
    if waits:
        return _match(found, LATER, max(waits), for_it, against, used)
    partly = len(found.pests) < len(pests) or _poor(facts, found, house, guild)
    return _match(found, PART if partly else NOW, 0, for_it, against, used)


def _match(
    found: Candidate, state: str, in_d: int | None, for_it: list[str], against: list[str], used: list[Fact]
) -> Match:
    return Match(
        found.enemy, state, in_d, found.pests, tuple(for_it), tuple(against), tuple(dict.fromkeys(used))
    )


def _poor(facts: Facts, found: Candidate, house: Standing, guild: str) -> bool:
    level = min(facts.one(found.enemy, "host_match", other_species=pest).value for pest in found.pests)
    ragged = facts.one("", "ragged_share_limit", stage="speaks against wasps").value
    hit = guild == "wasp" and house.ragged_share is not None and house.ragged_share > ragged
    return level < 2 or hit or (house.use == "preventive" and guild != "wasp")


def _cold(facts: Facts, enemy: str, ahead: Window, against: list[str], used: list[Fact]) -> int | None:
    """Return in how many days it is warm enough by day, and add the reason where it is not now."""
    least, share = facts.one(enemy, "useful_day_temperature"), facts.one("", "cold_days_share")
    cold = cold_share(ahead.light, least.value)
    if cold <= share.value:
        return 0
    used += [least, share]
    against.append(
        say(
            "below about {least} by day it searches little: {cold:.0f} of the coming 14 days are colder",
            least=temperature(least.value),
            cold=cold * min(14, len(ahead.light)),
        )
    )
    return warm_from(ahead.light, least.value)


def _rests(
    facts: Facts, enemy: str, ahead: Window, against: list[str], for_it: list[str], used: list[Fact]
) -> bool:
    """Return whether days are too short for a midge to go on breeding, in the middle of the coming weeks."""
    longest, slope = facts.one(enemy, "critical_day_length"), facts.one(enemy, "critical_day_length_night")
    used += [longest, slope]
    days = slice(0, 28)
    if float(np.median(ahead.daylight[days])) < longest.value:
        against.append(
            say(
                "days of {now:.1f} h are short for it: below {low:g} to {high:g} h, by strain and night, its larvae "
                "go to rest; what is let go eats, but does not breed on",
                now=float(np.median(ahead.daylight[days])),
                low=longest.low,
                high=longest.high,
            )
        )
        return True
    for_it.append(say("days are long enough for it to breed on"))
    return False


def _house(
    facts: Facts,
    enemy: str,
    guild: str,
    house: Standing,
    for_it: list[str],
    against: list[str],
    used: list[Fact],
) -> None:
    if house.held is not None:
        against.append(house.held)
    number = house.there.get(enemy, 0.0)
    if number >= 1:
        for_it.append(say("about {n:.0f} of it search here already", n=number))
    if guild == "midge":
        if house.floor is None:
            against.append(say("the floor is not told: it pupates in soft, damp soil or litter"))
        elif house.floor != "soil":
            against.append(say("it pupates in soft, damp soil: on {floor} few come back", floor=house.floor))
        least = facts.one(enemy, "least_humidity")
        if house.humidity is not None and house.humidity < least.value:
            used.append(least)
            against.append(
                say(
                    "air of {now:.0%} is dry for it; {least:.0%} is asked for ({source})",
                    now=house.humidity,
                    least=least.value,
                    source=least.cited,
                )
            )
    if guild == "wasp":
        if house.leaf_crop:
            against.append(say("mummies are contaminants in a leaf crop: stop well before harvest"))
        if house.use == "preventive":
            for_it.append(say("searches at low density, before colonies are found"))
    else:
        if house.use == "preventive":
            against.append(say("needs colonies to live on: where nothing was found it starves or flies off"))
        elif guild in SPOT_GUILDS:
            for_it.append(say("eats up spots at once; it seldom breeds on, so it is bought again"))
        if house.ragged_share:
            for_it.append(say("hyperparasitoids do not take it"))
        wasps = [key for key, n in house.there.items() if n >= 1 and facts.species[key].guild == "wasp"]
        if guild in SPOT_GUILDS and wasps:
            against.append(say("also eats stung aphids and mummies of your wasps: keep it to the spots"))
    if house.ants:
        against.append(say("ants were seen: bait or barrier first, or it is driven off"))


@dataclass(frozen=True)
class Mixture:
    """Enemies that go well together here, and why."""

    enemies: tuple[str, ...]
    why: tuple[str, ...]
    facts: tuple[Fact, ...]


def mixtures(facts: Facts, matches: Sequence[Match], pests: Sequence[str], use: str) -> tuple[Mixture, ...]:
    """Return mixtures worth thinking of: several aphids covered, a wasp with a midge, or both kinds of wasp."""
    open_ = [item for item in matches if item.state in (NOW, PART) and item.pests]
    found: list[Mixture] = []

    def level(item: Match, pest: str) -> float:
        row = facts.find(item.enemy, "host_match", other_species=pest)
        return 0.0 if row is None else row.value

    def rows(names: Sequence[str]) -> tuple[Fact, ...]:
        return tuple(
            row
            for name in names
            for pest in pests
            if (row := facts.find(name, "host_match", other_species=pest)) is not None
        )

    one_for_all = any(set(item.pests) >= set(pests) and item.state == NOW for item in open_)
    if len(pests) > 1 and not one_for_all:
        chosen = []
        for pest in pests:
            fitting = [item for item in open_ if level(item, pest) > 0]
            if fitting:
                chosen.append(max(fitting, key=lambda item: (level(item, pest), item.state == NOW)).enemy)
        names = tuple(dict.fromkeys(chosen))
        if len(names) > 1:
            told = tuple(facts.species[pest].latin for pest in pests)
            found.append(
                Mixture(names, (say("together they take {pests}", pests=", ".join(told)),), rows(names))
            )
    wasps = [item for item in open_ if facts.species[item.enemy].guild == "wasp"]
    midges = [item for item in open_ if facts.species[item.enemy].guild == "midge"]
    if use == "curative" and wasps and midges:
        names = (wasps[0].enemy, midges[0].enemy)
        why = say("the usual pair: the midge eats colonies now, the wasp searches on")
        found.append(Mixture(names, (why,), rows(names)))
    if "unknown_aphid" in pests:
        kinds = [_best_of_size(facts, size) for size in ("small", "large")]
        names = tuple(name for name in kinds if name)
        if len(names) > 1:
            why = say("one for small aphids and one for large ones, until the aphid has a name")
            found.append(Mixture(names, (why,), tuple(row for name in names for row in _named(facts, name))))
    return tuple(found)


def _best_of_size(facts: Facts, size: str) -> str | None:
    pests = [key for key, item in facts.species.items() if item.kind == "pest" and item.size == size]
    wasps = [key for key, item in facts.species.items() if item.guild == "wasp" and item.kind == "enemy"]

    def score(wasp: str) -> tuple[float, str]:
        levels = [facts.find(wasp, "host_match", other_species=pest) for pest in pests]
        return (-sum(row.value for row in levels if row is not None), wasp)

    return min(wasps, key=score, default=None)


def _named(facts: Facts, enemy: str) -> list[Fact]:
    return [row for row in facts.rows(enemy) if row.quantity == "host_match"]


def fits_several(facts: Facts) -> tuple[tuple[str, int, int, tuple[Fact, ...]], ...]:
    """Return for each enemy how many of the named aphids it accepts, of how many, the widest first."""
    pests = [
        key for key, item in facts.species.items() if item.kind == "pest" and item.size in ("small", "large")
    ]
    found = []
    for key, item in facts.species.items():
        if item.kind != "enemy":
            continue
        levels = [facts.find(key, "host_match", other_species=pest) for pest in pests]
        told = tuple(row for row in levels if row is not None)
        found.append((key, sum(row.value > 0 for row in told), len(pests), told))
    return tuple(sorted(found, key=lambda row: (-row[1], row[0])))
