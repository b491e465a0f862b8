"""Holding, Unclear or Losing: two chances of one pest in one zone against the grower's own level."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.bands import HOUSE, Bands
from outpace.language import say
from outpace.simulation.model import HouseModel, Release
from outpace.simulation.parameters import Parameters

Array = NDArray[np.float64]

HOLDING, UNCLEAR, LOSING = "Holding", "Unclear", "Losing"
LEAST_HORIZON_D = 21
AFTER_BROOD_D = 7
LAST_WEEK_D = 7
LIKELY, UNLIKELY = 0.8, 0.2
FAR_UNDER = 0.1
"""Growth is not held against a pest while its mean stays under this share of the level."""


@dataclass(frozen=True, slots=True)
class Level:
    """The grower's own limit: mean live aphids per unit, or the share of plants infested.

    ``zone`` is the index of a zone, or `HOUSE`.
    """

    pest: int
    unit: str
    level: float
    zone: int = HOUSE


@dataclass(frozen=True, slots=True)
class HotSpot:
    """A tagged place: how many aphids per unit of the level were there, on which day."""

    pest: int
    zone: int
    aphids: float
    day: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the counts say of one pest in one zone.

    Attributes
    ----------
    word : str
        ``Holding``, ``Unclear`` or ``Losing``.
    stays_below : float
        Chance that the mean is at or under the level on every day of the horizon.
    ends_well : float
        Chance that in its last week the mean is at or under the level and not growing.
    horizon_d : int
    above_now : bool
        Whether the middle member is above the level today.
    below_from : int or None
        The first day from which the middle member stays at or under the level; None if it does not, or is now.
    remarks : tuple of str
        What the grower must know beside the word.
    """

    level: Level
    word: str
    stays_below: float
    ends_well: float
    horizon_d: int
    above_now: bool
    below_from: int | None
    remarks: tuple[str, ...] = ()

    @property
    def above_until(self) -> int | None:
        """Day until about which a holding pest is still above the level; None if it is not above now."""
        return self.below_from if self.word == HOLDING and self.above_now else None


def judge(
    ahead: Bands,
    level: Level,
    *,
    hot_spots: Sequence[HotSpot] = (),
    virus_sensitive: bool = False,
    horizon_d: int | None = None,
) -> Verdict:
    """Return the verdict on one pest in one zone.

    Parameters
    ----------
    ahead : Bands
        From today on, with what is released, placed and arrived; planned lines are what-if.
    level : Level
    hot_spots : sequence of HotSpot
        Tagged and not cleared.
    virus_sensitive : bool, default False
        Numbers then do not speak for the crop.
    horizon_d : int, optional
        All of the days ahead when not given; see `horizon`.
    """
    days = ahead.days if horizon_d is None else horizon_d
    if not LAST_WEEK_D <= days <= ahead.days:
        raise ValueError(f"a horizon of {days} days needs a forecast at least as long, and a week at least")
    live = ahead.live(level.pest, level.zone, level.unit)[: days + 1]
    stays, ends = chances(live, level.level)
    middle = np.median(live, axis=1)
    above_now = bool(middle[0] > level.level)
    word = word_of(stays, ends, above_now)
    remarks = []
    hot = [spot for spot in hot_spots if _overrides(spot, level)]
    if hot and word == HOLDING:
        word = UNCLEAR
        remarks.append(
            say("the mean alone would read Holding, but a tagged spot is above your level: treat the spot")
        )
    elif hot:
        remarks.append(say("a tagged spot is above your level: treat the spot"))
    if virus_sensitive:
        virus = say("virus risk not judged")
        remarks.append(say("Numbers holding; {virus}", virus=virus) if word == HOLDING else virus)
    return Verdict(
        level=level,
        word=word,
        stays_below=stays,
        ends_well=ends,
        horizon_d=days,
        above_now=above_now,
        below_from=_below_from(middle, level.level, ahead.first_day) if above_now else None,
        remarks=tuple(remarks),
    )


def word_of(stays_below: float, ends_well: float, above_now: bool) -> str:
    """Return the word that two chances make.

    Examples
    --------
    >>> word_of(0.5, 0.9, above_now=False), word_of(0.0, 0.9, above_now=True), word_of(0.1, 0.2, above_now=False)
    ('Unclear', 'Holding', 'Losing')
    """
    if ends_well >= LIKELY and (above_now or stays_below >= LIKELY):
        return HOLDING
    return LOSING if ends_well <= UNLIKELY else UNCLEAR


def chances(live: Array, level: float) -> tuple[float, float]:
    """Return the chances to stay below and to end well, of members over the days of a horizon.

    Parameters
    ----------
    live : array of float, shape (days + 1, members)

    Examples
    --------
    >>> days = np.arange(22.0)[:, None]
    >>> live = np.concatenate([2.0 * 0.8**days, 0.5 * 1.05**days, 0.5 * 1.0**days, 0.5 * 1.2**days], axis=1)
    >>> chances(live, 1.0)
    (0.25, 0.5)
    """
    stays, ends = outcomes(live, level)
    return float(stays.mean()), float(ends.mean())


def outcomes(live: Array, level: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return which members stay below the level and which end well, each of shape (members,)."""
    stays = (live <= level).all(axis=0)
    week = live[-LAST_WEEK_D - 1 :]
    under = (week <= level).all(axis=0)
    growing = (week[-1] > week[0]) & (week[-1] > FAR_UNDER * level)
    return np.asarray(stays), np.asarray(under & ~growing)


def binding(verdicts: Sequence[Verdict]) -> Verdict:
    """Return the verdict that decides for the house: the worst word, then the smallest chance to end well."""
    rank = {LOSING: 0, UNCLEAR: 1, HOLDING: 2}
    return min(verdicts, key=lambda v: (rank[v.word], v.ends_well, v.stays_below))


def _overrides(spot: HotSpot, level: Level) -> bool:
    same_zone = HOUSE in (spot.zone, level.zone) or spot.zone == level.zone
    return spot.pest == level.pest and same_zone and spot.aphids > level.level


def _below_from(middle: Array, level: float, first_day: int) -> int | None:
    above = np.flatnonzero(middle > level)
    last = int(above[-1])
    return None if last == len(middle) - 1 else first_day + last + 1


def horizon(
    model: HouseModel,
    parameters: Parameters,
    temperature: Array,
    *,
    today: int,
    pest: int,
    releases: Sequence[Release] = (),
) -> int:
    """Return the days to judge over: the longer of 21 and the next own brood plus 7, as far as temperature is given.

    The next own brood is the first day ahead on which daughters of released females fly, by the heat of the middle
    member since each release of an enemy that accepts the pest, generation after generation.
    """
    at_hand = temperature.shape[0] // 24 - today
    if at_hand < LEAST_HORIZON_D:
        raise ValueError(f"temperature ahead covers {at_hand} days, {LEAST_HORIZON_D} are needed")
    broods = next_broods(model, parameters, temperature, today=today, pest=pest, releases=releases)
    last = max((day - today + AFTER_BROOD_D for day in broods), default=0)
    return int(min(max(LEAST_HORIZON_D, last), at_hand))


def next_broods(
    model: HouseModel,
    parameters: Parameters,
    temperature: Array,
    *,
    today: int,
    pest: int,
    releases: Sequence[Release],
) -> list[int]:
    """Return for each enemy released that accepts the pest the first day after today on which a brood flies."""
    mean = np.asarray(temperature.mean(axis=1), dtype=np.float64)
    days = len(mean) // 24
    found = []
    for enemy in {r.enemy for r in releases if (pest, r.enemy) in parameters.substages.pairs}:
        threshold, constant, carrier, best = (
            float(np.median(parameters.get(name, enemy=enemy)))
            for name in ("lower_threshold", "thermal_constant", "carrier_heat", "optimum_temperature")
        )
        warm = np.clip(mean[: days * 24], threshold, best) - threshold
        heat = np.concatenate([[0.0], np.cumsum(warm.reshape(days, 24).mean(axis=1))])
        flights = []
        for release in (r for r in releases if r.enemy == enemy and int(r.day) < days):
            start = heat[int(release.day)] + (0.0 if release.form == "adults" else carrier)
            flies = int(np.searchsorted(heat, start + constant))
            while flies <= today:
                start += constant
                flies = int(np.searchsorted(heat, start + constant))
            if flies < len(heat):
                flights.append(flies)
        if flights:
            found.append(min(flights))
    return sorted(found)
