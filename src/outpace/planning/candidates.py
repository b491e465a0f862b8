"""Which of the enemies on offer fit a house, and why the others do not."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from outpace.facts.table import Fact, Facts, weakest
from outpace.language import say
from outpace.measures import temperature

UNNAMED = "unknown_aphid"
"""The aphid that nobody has named yet: what accepts it is not known, whatever the tables reckon with."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One enemy for one house: whether it is worth planning with, and the reasons either way."""

    enemy: str
    fits: bool
    pests: tuple[str, ...]
    for_it: tuple[str, ...]
    against: tuple[str, ...]
    facts: tuple[Fact, ...]

    @property
    def evidence(self) -> str:
        """Return the weakest evidence among the reasons."""
        return weakest(self.facts)


def rank(
    facts: Facts,
    enemies: Iterable[str],
    pests: Sequence[str],
    *,
    mean_temperature: float,
    hottest: float,
    ragged_share: float | None = None,
) -> tuple[Candidate, ...]:
    """Return the enemies on offer, those that fit first, each with its reasons.

    Parameters
    ----------
    pests : sequence of str
        Species found in the house.
    mean_temperature, hottest : float
        Mean, and highest hour, of the coming two weeks in the crop. [°C]
    ragged_share : float, optional
        Share of empty tan mummies with a ragged hole, where enough were read.
    """
    found = [
        _judge(facts, enemy, pests, mean_temperature, hottest, ragged_share)
        for enemy in dict.fromkeys(enemies)
    ]
    best = {item.enemy: _level(facts, item.enemy, pests) for item in found}
    return tuple(
        sorted(found, key=lambda item: (not item.fits, -best[item.enemy], len(item.against), item.enemy))
    )


def fitting_enemies(facts: Facts, pest: str) -> tuple[str, ...]:
    """Return the enemies whose match with this aphid is above 0, best first."""
    levels = {
        key: match.value
        for key, item in facts.species.items()
        if item.kind == "enemy"
        and (match := facts.find(key, "host_match", other_species=pest)) is not None
        and match.value > 0
    }
    return tuple(sorted(levels, key=lambda key: (-levels[key], key)))


def _level(facts: Facts, enemy: str, pests: Sequence[str]) -> float:
    matches = (facts.find(enemy, "host_match", other_species=pest) for pest in pests)
    return max((match.value for match in matches if match is not None), default=0.0)


def _judge(
    facts: Facts,
    enemy: str,
    pests: Sequence[str],
    mean_temperature: float,
    hottest: float,
    ragged_share: float | None,
) -> Candidate:
    species = facts.species[enemy]
    for_it: list[str] = []
    against: list[str] = []
    used: list[Fact] = []
    accepted: list[str] = []
    for pest in pests:
        name = facts.species[pest].latin or facts.species[pest].english
        match = facts.find(enemy, "host_match", other_species=pest)
        if match is None:
            against.append(say("whether it accepts {name} is not known", name=name))
            continue
        used.append(match)
        if match.value <= 0 and pest == UNNAMED:
            against.append(say("whether it accepts an aphid without a name is not known"))
        elif match.value <= 0:
            against.append(say("does not accept {name} ({cited})", name=name, cited=match.cited))
        else:
            accepted.append(pest)
            for_it.append(
                say("accepts {name} ({cited})", name=name, cited=match.cited)
                if match.value >= 2
                else say("accepts {name}, but only in part ({cited})", name=name, cited=match.cited)
            )
    fits = bool(accepted)
    low = facts.find(enemy, "activity_low_temperature")
    if low is not None and mean_temperature < low.value:
        used.append(low)
        against.append(
            say(
                "searches little below {value}; {mean_temperature} is expected",
                value=temperature(low.value),
                mean_temperature=temperature(mean_temperature, 0),
            )
        )
    high = facts.find(enemy, "activity_high_temperature")
    if high is not None and hottest > high.value:
        used.append(high)
        against.append(
            say(
                "searches little above {value}; up to {hottest} is expected",
                value=temperature(high.value),
                hottest=temperature(hottest, 0),
            )
        )
    ragged = facts.one("", "ragged_share_limit", stage="speaks against wasps")
    if species.guild == "wasp" and ragged_share is not None and ragged_share > ragged.value:
        used.append(ragged)
        against.append(
            say(
                "{ragged_share:.0%} of the empty tan mummies read have a ragged hole: its young feed "
                "hyperparasitoids",
                ragged_share=ragged_share,
            )
        )
    return Candidate(enemy, fits, tuple(accepted), tuple(for_it), tuple(against), tuple(used))
