"""Where the temperatures of a house leave those at which its figures were studied.

A figure by temperature is known from its coldest to its warmest row, development from where it was timed. Beyond, the
model holds the last value or carries the line on; an answer that used such hours says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Facts
from outpace.language import say, to_say
from outpace.measures import degrees, difference, temperature

if TYPE_CHECKING:
    from outpace.season.case import HouseCase

FIGURES = {
    "pest": {"lifetime_fecundity": to_say("young borne"), "adult_life": to_say("adult life")},
    "enemy": {
        "eggs": to_say("eggs"),
        "immature_survival": to_say("survival"),
        "attack_temperature_multiplier": to_say("searching"),
    },
}
"""Figures by temperature that a forecast uses, by kind of species, and what they are called.

Survival and searching have rows in the heat only, or judged ones to the ends: their cold end is where nothing changes.
"""
DEVELOPMENT = to_say("development")
WARM_END_ONLY = ("immature_survival",)
"""Figures that are level in the cold by what they mean: no extrapolation below their first row."""
EDGE = 0.02
"""How far is told at this share of the hours from the end, so that one odd hour does not speak."""


@dataclass(frozen=True, slots=True)
class Outside:
    """One figure of one species used outside of its domain.

    ``share`` is that of the hours, ``degc`` the temperature they reach, ``beyond`` by how much that leaves the domain.
    [1, °C, °C]
    """

    species: str
    quantity: str
    low: float
    high: float
    side: str
    share: float
    degc: float
    beyond: float


def domain(facts: Facts, species: str, quantity: str) -> tuple[float, float] | None:
    """Return the coldest and warmest temperature at which a figure was studied, or None where it has no such ends.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> domain(load(), "myzus_persicae", "development")
    (15.0, 30.0)
    """
    if quantity == DEVELOPMENT:
        ends = [facts.find(species, f"development_studied_{end}") for end in ("from", "to")]
        found = [fact.value for fact in ends if fact is not None]
        return (found[0], found[1]) if len(found) == 2 else None
    warm = [
        row.temperature_degc
        for row in facts.by_temperature(species, quantity)
        if row.temperature_degc is not None
    ]
    if len(warm) < 2:
        return None
    return (-np.inf if quantity in WARM_END_ONLY else min(warm), max(warm))


def outside(
    facts: Facts, species: Iterable[str], hours: NDArray[np.float64], only: Iterable[str] | None = None
) -> tuple[Outside, ...]:
    """Return every figure that some of the hours take out of its domain, the most hours first.

    Parameters
    ----------
    hours : array of float, any shape
        Those an answer used, of all members. [°C]
    only : iterable of str, optional
        The figures it used; all of them when not told.
    """
    warmth = np.sort(np.asarray(hours, dtype=np.float64), axis=None)
    if not warmth.size:
        return ()
    found = []
    wanted = None if only is None else set(only)
    for key in dict.fromkeys(species):
        kind = facts.species[key].kind
        for quantity in (DEVELOPMENT, *FIGURES.get(kind, {})):
            ends = domain(facts, key, quantity) if wanted is None or quantity in wanted else None
            if ends is None:
                continue
            low, high = ends
            colder = float(np.searchsorted(warmth, low, side="left")) / warmth.size
            warmer = 1.0 - float(np.searchsorted(warmth, high, side="right")) / warmth.size
            for side, share, end in (("colder", colder, low), ("warmer", warmer, high)):
                if share > 0:
                    reach = min(EDGE, share) / 2
                    at = float(
                        np.quantile(warmth, reach, method="lower")
                        if side == "colder"
                        else np.quantile(warmth, 1.0 - reach, method="higher")
                    )
                    found.append(Outside(key, quantity, low, high, side, share, at, abs(at - end)))
    return tuple(sorted(found, key=lambda item: -item.share))


def domain_cautions(
    facts: Facts, species: Sequence[str], hours: NDArray[np.float64], only: Iterable[str] | None = None
) -> list[str]:
    """Return what an answer says of the hours outside what was studied: one line, or none.

    Each species is named with its worst figure on each side.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> domain_cautions(load(), ["aulacorthum_solani"], np.full(48, 21.0))
    []
    """
    least = facts.one("", "domain_caution_share").value
    found = [item for item in outside(facts, species, hours, only) if item.share >= least]
    told = []
    for key in dict.fromkeys(species):
        for side in ("colder", "warmer"):
            here = [item for item in found if item.species == key and item.side == side]
            if here:
                worst = max(here, key=lambda item: (round(item.beyond, 1), item.share))
                told.append(_words(facts, worst, [item for item in here if item is not worst]))
    return (
        [say("Weaker, because warmth leaves what was studied: {told}", told="; ".join(told))] if told else []
    )


def house_cautions(case: HouseCase, days: int, enemies: Iterable[str] = ()) -> list[str]:
    """Return the same for what a forecast of a house used: from its first day to so many days ahead.

    Parameters
    ----------
    enemies : iterable of str
        Those an answer weighs, beside those let go in the house.
    """
    hours = case.temperature.hours[: (case.today + days) * 24]
    let_go = (row["enemy"] for row in case.let_go.told)
    return domain_cautions(case.facts, list(dict.fromkeys([*case.model.pests, *let_go, *enemies])), hours)


HOURS_BEYOND = {
    "colder": to_say(
        "{latin}, {names} known {span}, {share:.0f} % of the hours colder, {reach}, {beyond} beyond{also}"
    ),
    "warmer": to_say(
        "{latin}, {names} known {span}, {share:.0f} % of the hours warmer, {reach}, {beyond} beyond{also}"
    ),
}


def _words(facts: Facts, worst: Outside, others: list[Outside]) -> str:
    species = facts.species[worst.species]
    names = {DEVELOPMENT: DEVELOPMENT, **FIGURES.get(species.kind, {})}
    span = (
        say("up to {high}", high=temperature(worst.high))
        if np.isinf(worst.low)
        else say("from {low} to {high}", low=degrees(worst.low), high=temperature(worst.high))
    )
    reach = (
        say("down to {degrees}", degrees=temperature(worst.degc, 0))
        if worst.side == "colder"
        else say("up to {degrees}", degrees=temperature(worst.degc, 0))
    )
    also = (
        say(" (also {others})", others=", ".join(say(names[item.quantity]) for item in others))
        if others
        else ""
    )
    return say(
        HOURS_BEYOND[worst.side],
        latin=species.latin or species.english,
        names=say(names[worst.quantity]),
        span=span,
        share=100 * worst.share,
        reach=reach,
        beyond=difference(worst.beyond, None),
        also=also,
    )
