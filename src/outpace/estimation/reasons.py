"""Why a verdict reads as it does: what moves its chances when it is taken away.

Each reason is tried by taking one thing away and computing again: the enemies at work, the last walk, all
mummies seen, the warmth of the days ahead, residues, newcomers. Those that move the chances most are told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.assimilation import Posterior, refit
from outpace.estimation.bands import Bands
from outpace.estimation.cards import CardSeen
from outpace.estimation.forecast import look_ahead, without_enemies
from outpace.estimation.hyperparasitoids import without_hyperparasitoids
from outpace.estimation.observations import LineSeen, Seen, WalkSeen, middle_of
from outpace.estimation.pooling import Beliefs
from outpace.estimation.starting import growth_alone
from outpace.estimation.verdict import HotSpot, Level, Verdict, chances, horizon, judge
from outpace.facts.table import Fact, Facts
from outpace.language import listed, say, say_many
from outpace.measures import difference, temperature
from outpace.simulation.model import HouseModel, Release, Spray

Array = NDArray[np.float64]

COOLER_DEGC = 3.0
WEEK_H = 168
WEEK_D = 7
TOLD = 3
LEAST_MOVE = 0.005


@dataclass(frozen=True)
class Case:
    """All that a verdict on one house rests on.

    ``temperature`` reaches from the midnight of day 0 to the end of the horizon. ``releases`` and ``sprays`` hold
    what happened and what is placed.
    """

    model: HouseModel
    facts: Facts
    temperature: Array
    walks: tuple[Seen, ...]
    releases: tuple[Release, ...]
    sprays: tuple[Spray, ...]
    first_day: int
    until_day: int
    seed: int
    members: int = 1024
    own: tuple[Fact, ...] = ()
    beliefs: Beliefs | None = None
    cards: tuple[CardSeen, ...] = ()
    populate: Callable[[Posterior], Posterior] | None = None
    """What lives there today beside what the counts tell of."""

    def refit(self) -> Posterior:
        """Return what is held of the house today."""
        held = refit(
            self.model,
            self.facts,
            self.temperature,
            self.walks,
            self.releases,
            self.sprays,
            first_day=self.first_day,
            until_day=self.until_day,
            members=self.members,
            seed=self.seed,
            own=self.own,
            beliefs=self.beliefs,
            cards=self.cards,
        )
        return held if self.populate is None else self.populate(held)

    def ahead(self, posterior: Posterior, days: int) -> Bands:
        """Return the bands of the days to come."""
        return look_ahead(posterior, self.model, self.temperature, self.releases, self.sprays, days)


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason and what it does.

    Attributes
    ----------
    kind : str
        ``enemies``, ``last_walk``, ``mummies``, ``cards``, ``temperature_ahead``, ``warmth``, ``residue`` or
        ``newcomers``.
    text : str
        In plain words, without a date.
    stays_below, ends_well : float
        The two chances with this one thing taken away.
    moves : float
        By how much the chance that moves more is moved: above 0 where the thing helps the grower.
    times : float
        The middle member at the end of the horizon, as it is over as it would be without this thing.
    """

    kind: str
    text: str
    stays_below: float
    ends_well: float
    moves: float
    times: float


@dataclass(frozen=True)
class Judged:
    """A verdict with what it was read from and its reasons."""

    posterior: Posterior
    ahead: Bands
    verdict: Verdict
    reasons: tuple[Reason, ...]


def judged(
    case: Case,
    level: Level,
    *,
    hot_spots: Sequence[HotSpot] = (),
    virus_sensitive: bool = False,
    with_reasons: bool = True,
) -> Judged:
    """Refit a house, look ahead over its horizon, judge one pest in one zone and say why."""
    posterior = case.refit()
    days = horizon(
        case.model,
        posterior.parameters,
        case.temperature,
        today=case.until_day,
        pest=level.pest,
        releases=case.releases,
    )
    ahead = case.ahead(posterior, days)
    verdict = judge(ahead, level, hot_spots=hot_spots, virus_sensitive=virus_sensitive)
    told = reasons(case, posterior, ahead, verdict) if with_reasons else ()
    return Judged(posterior, ahead, verdict, told)


def reasons(case: Case, posterior: Posterior, ahead: Bands, verdict: Verdict) -> tuple[Reason, ...]:
    """Return at most three reasons, the one that moves the chances most first.

    Where nothing moves them, because they lie at 0 or 1 whatever one takes away, those that move the size of the
    pest most are told instead, with ``moves`` 0.
    """
    level = verdict.level
    live = ahead.live(level.pest, level.zone, level.unit)
    found = []
    for kind, text, other in _taken_away(case, posterior, level, ahead.days):
        without = other.live(level.pest, level.zone, level.unit)
        stays, ends = chances(without, level.level)
        moved = (verdict.ends_well - ends, verdict.stays_below - stays)
        end, end_without = (max(float(np.median(each[-1])), 1e-12) for each in (live, without))
        moves = max(moved, key=abs)
        text = _fitting(kind, text, moves)
        found.append(Reason(kind, text, stays, ends, moves, end / end_without))
    moving = [reason for reason in found if abs(reason.moves) >= LEAST_MOVE]
    if moving:
        return tuple(sorted(moving, key=lambda reason: -abs(reason.moves))[:TOLD])
    sized = [replace(reason, moves=0.0) for reason in found if abs(np.log(reason.times)) > 0.05]
    return tuple(sorted(sized, key=lambda reason: -abs(np.log(reason.times)))[:TOLD])


def _taken_away(
    case: Case, posterior: Posterior, level: Level, days: int
) -> Iterator[tuple[str, str, Bands]]:
    """Give each thing that can be taken away: its kind, its words, and the days ahead without it."""
    model = case.model
    pest = case.facts.species[model.pests[level.pest]]
    yield from _without_enemies(case, posterior, level, days)
    if model.hyperparasitoids and posterior.state[_hyper_rows(posterior)].any():
        spared = without_hyperparasitoids(posterior)
        later = [release for release in case.releases if release.enemy < len(model.agents)]
        alone = look_ahead(posterior, model, case.temperature, later, case.sprays, days, state=spared)
        yield "hyperparasitoids", say("hyperparasitoids live on the wasps"), alone
    samples = [
        w for w in case.walks if not w.hunted and w.day < case.until_day + 1 and _speaks(w, level.pest)
    ]
    if samples:
        others = tuple(w for w in case.walks if w is not samples[-1])
        before = replace(case, walks=others)
        yield "last_walk", _of_last_walk(samples, level.pest), before.ahead(before.refit(), days)
    if any(_mummies(w) is not None for w in samples):
        blind = replace(case, walks=tuple(w.without_mummies() for w in case.walks))
        yield "mummies", _of_mummies(samples), blind.ahead(blind.refit(), days)
    late = [card for card in case.cards if case.until_day - WEEK_D < card.day < case.until_day + 1]
    if late:
        blind = replace(case, cards=())
        yield "cards", _of_cards(late), blind.ahead(blind.refit(), days)
    today = case.until_day * 24
    past, coming = case.temperature[max(0, today - WEEK_H) : today], case.temperature[today : today + WEEK_H]
    if len(past) == WEEK_H and abs(warmer := float(coming.mean() - past.mean())) >= 0.5:
        usual = case.temperature.copy()
        span = usual[today : today + days * 24]
        span[:] = (
            np.resize(past, span.shape)
            if past.shape[1] == 1
            else np.tile(past, (days // 7 + 1, 1))[: len(span)]
        )
        word = say("warmer") if warmer > 0 else say("cooler")
        text = say(
            "the week ahead is {warmer} {word} than the last", warmer=difference(abs(warmer)), word=word
        )
        yield "temperature_ahead", text, replace(case, temperature=usual).ahead(posterior, days)
    cooler = case.temperature.copy()
    cooler[today:] -= COOLER_DEGC
    yield (
        "warmth",
        _of_warmth(case, posterior, level, pest.latin),
        replace(case, temperature=cooler).ahead(posterior, days),
    )
    if any(np.max(spray.residual_d) > 0 and spray.day < case.until_day for spray in case.sprays):
        layout = posterior.parameters.layout(model)
        state = posterior.state.copy()
        state[layout.holding("residue")] = 0.0
        clean = look_ahead(posterior, model, case.temperature, case.releases, case.sprays, days, state=state)
        yield "residue", say("residue of a spray still kills enemies"), clean
    closed = posterior.parameters.set("log_immigration", -50.0, pest=level.pest)
    shut = look_ahead(posterior, model, case.temperature, case.releases, case.sprays, days, parameters=closed)
    yield "newcomers", say("winged {latin} keep arriving from outside", latin=pest.latin), shut


def _without_enemies(
    case: Case, posterior: Posterior, level: Level, days: int
) -> Iterator[tuple[str, str, Bands]]:
    accepting = sorted({e for p, e in posterior.parameters.substages.pairs if p == level.pest})
    eats = posterior.parameters.shared.hunters.accepted[:, level.pest]
    accepting += [len(case.model.enemies) + d for d in range(len(case.model.predators)) if eats[d] > 0]
    released = [e for e in accepting if any(r.enemy == e for r in case.releases)]
    if released:
        names = listed(case.facts.species[case.model.agents[e]].latin for e in released)
        later = [r for r in case.releases if r.enemy not in released]
        state = without_enemies(posterior, case.model, released)
        alone = look_ahead(posterior, case.model, case.temperature, later, case.sprays, days, state=state)
        yield (
            "enemies",
            say_many(
                "{names}, let go here, still works against the aphid",
                "{names}, let go here, still work against the aphid",
                len(released),
                names=names,
            ),
            alone,
        )


def _hyper_rows(posterior: Posterior) -> NDArray[np.int64]:
    layout = posterior.parameters.layout(posterior.model)
    names = [f"hyper_young_{h}" for h in range(len(posterior.model.hyperparasitoids))]
    return layout.holding("hyper_females", *names)


def _fitting(kind: str, text: str, moves: float) -> str:
    """Say on which side a thing counts where its words alone point the other way."""
    if kind == "last_walk" and moves > 0 and say("grew") in text:
        return say("{text_told}, less than feared", text_told=text)
    if kind == "last_walk" and moves < 0 and say("grew") not in text:
        return say("{text_told}, more than hoped for", text_told=text)
    if kind == "mummies" and moves < 0 and not text.startswith(say("no ")):
        return say("{text_told}, fewer than a hold would show", text_told=text)
    if kind == "warmth" and moves > 0:
        return say("{text_told}; cooler days would slow its enemies more", text_told=text)
    return text


def _speaks(walk: Seen, pest: int) -> bool:
    return walk.pest == pest if isinstance(walk, LineSeen) else walk.looked_at(pest) > 0


def _mean(walk: Seen, pest: int) -> float | None:
    """Return the mean of a walk per unit as it was counted, None where a line told no total."""
    if isinstance(walk, LineSeen):
        return None if walk.aphids_about is None else walk.aphids_about / walk.looked_at
    told = np.isfinite(walk.high[pest]) | (walk.low[pest] > 0)
    return float(middle_of(walk.low[pest], walk.high[pest])[told].mean())


def _mummies(walk: Seen) -> float | None:
    if isinstance(walk, LineSeen):
        return walk.mummies_about
    told = [m.closed for m in walk.mummies if not np.isnan(m.closed).all()]
    return float(sum(np.nansum(each) for each in told)) if told else None


def _of_last_walk(samples: Sequence[Seen], pest: int) -> str:
    last = samples[-1]
    now = _mean(last, pest)
    earlier = next((w for w in samples[-2::-1] if w.unit == last.unit and _mean(w, pest)), None)
    if now is not None and earlier is not None and now > 0:
        times = now / (_mean(earlier, pest) or now)
        if times >= 1.1:
            return say("live aphids grew {times:.1f}-fold between the last two walks", times=times)
        if times <= 0.9:
            return say("live aphids fell to {times:.0%} between the last two walks", times=times)
        return say("live aphids stood still between the last two walks")
    if isinstance(last, WalkSeen) and not now:
        return say(
            "the last walk found no aphid on {looked_at} {units}",
            looked_at=last.looked_at(pest),
            units=_many(last.unit),
        )
    if now is None and isinstance(last, LineSeen):
        return say(
            "the last walk found aphids on {infested} of {looked_at} {units}",
            infested=last.infested,
            looked_at=last.looked_at,
            units=_many(last.unit),
        )
    return say("the last walk found {now:.2g} live aphids per {unit}", now=now, unit=say(last.unit))


def _many(unit: str) -> str:
    return say({"leaf": "leaves"}.get(unit, f"{unit}s"))


def _of_mummies(samples: Sequence[Seen]) -> str:
    last = next(w for w in reversed(samples) if _mummies(w) is not None)
    number = _mummies(last) or 0.0
    if number == 0:
        return say("no closed mummy was seen in the last walk that looked for them")
    return say_many(
        "{n:.0f} closed mummy was seen in the last walk",
        "{n:.0f} closed mummies were seen in the last walk",
        number,
    )


def _of_cards(late: Sequence[CardSeen]) -> str:
    caught, cards = sum(card.winged for card in late), len(late)
    return say(
        "cards caught {aphids} in {readings} of the last week",
        aphids=say_many("{n} winged aphid", "{n} winged aphids", caught),
        readings=say_many("{n} reading", "{n} readings", cards),
    )


def _of_warmth(case: Case, posterior: Posterior, level: Level, name: str) -> str:
    today = case.until_day
    mean = float(case.temperature[today * 24 : today * 24 + WEEK_H].mean())
    grown = growth_alone(
        case.model,
        posterior.parameters,
        case.temperature,
        pest=level.pest,
        first_day=today,
        days=7,
        seed=case.seed,
    )
    if grown <= 1.05:
        return say("at {mean} in the crop {name} hardly grows", mean=temperature(mean, 0), name=name)
    return say(
        "at {mean} in the crop {name} doubles in about {value:.1f} days",
        mean=temperature(mean, 0),
        name=name,
        value=7 * np.log(2) / np.log(grown),
    )
