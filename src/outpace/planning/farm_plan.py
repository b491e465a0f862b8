"""The plan of all houses of a farm together: one schedule a house, and whole packs shared between them.

Each house brings the schedules that hold it; one programme picks one of each and the packs, freight and parcels that
serve them all, at the least cost. What it picks is judged on other members than those it was found on. A schedule that
fails there is struck out and fuller ones take its place, until all that is picked passes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from outpace.planning.candidate_house import Asked, Candidate, upper_bound
from outpace.planning.effort import THOROUGH, Effort
from outpace.planning.goods import Arrival, Goods, Need, cost_of_packs
from outpace.planning.guide import Guide
from outpace.planning.house_search import Search, can_try_all, try_all
from outpace.planning.pack_programme import Choice, Chosen, cheapest_choices
from outpace.planning.places import Schedule, arrival_of, places_of, within_most
from outpace.planning.pooling import Line, Pooled, given_out
from outpace.planning.trials import Aim, Kind, Trials

CLEARLY = 0.1
"""Where nothing holds: a fall of the chance by so much is worth an order; else by `FEWER_DAYS` of the days above."""
FEWER_DAYS = 0.2
MOST_OF_IT = 0.8
"""Where nothing holds: the share of all that releases could do which is ordered; the rest costs most of the money."""
NEARER = 2
"""How often the search aims anew after the other members judged what it found."""
MOST_CHOICES = 12
PARTS = 8
"""Into how many parts the smallest pack is divided where other houses can take the rest."""


@dataclass(frozen=True)
class FarmPlan:
    """The schedules of all houses, and the packs that serve them.

    ``gap`` is what the programme could not prove, 0 where it is exact; ``complete`` whether every schedule was tried.
    """

    candidates: tuple[Candidate, ...]
    schedules: tuple[Schedule, ...]
    pooled: Pooled
    labour: float
    gap: float
    complete: bool
    holds: tuple[bool, ...]

    @property
    def total(self) -> float:
        """Return packs, freight and labour."""
        return self.pooled.total + self.labour

    def freight_of(self, lines: Sequence[Line]) -> float:
        """Return the freight of some lines that come together."""
        return cost_of_packs([line.arrival for line in lines], [line.packs for line in lines])[1]

    def given(self, house: int) -> tuple[int, ...]:
        """Return the labelled animals that a house is given at each of its places, what is over in packs included."""
        found = self.candidates[house]
        got: dict[tuple[Goods, date], int] = {}
        for share in self.pooled.shares:
            if share.house == found.asked.house.name:
                where = (share.arrival.goods, share.release)
                got[where] = got.get(where, 0) + share.number
        return tuple(got.get((place.goods, place.day), 0) for place in found.places)


def plan_farm(asked: Sequence[Asked], *, budget: float | None = None, effort: Effort = THOROUGH) -> FarmPlan:
    """Return the cheapest plan found for some houses that share packs, freight and orders.

    Parameters
    ----------
    asked : sequence of Asked
        Names of houses must differ.
    budget : float, optional
        Most that packs, freight and labour may come to. [farm's money]
    effort : Effort
        `THOROUGH` for a person's plan, `FAST` for many decisions in a row.
    """
    parts = PARTS if len(asked) > 1 else 1
    found = [_begun(item, parts, effort) for item in asked]
    complete = True
    for item in found:
        complete &= _bring_choices(item, effort, len(asked), capped=budget is not None)
    stock = tuple(dict.fromkeys(arrival_of(offer) for item in asked for offer in item.offers))
    if any(len(item.choices) > 1 for item in found) and len(found) > 1:
        for _ in range(effort.again):
            if complete or not _search_again(found, stock, budget):
                break
    chosen = _judged(found, stock, budget, effort)
    schedules = tuple(item.choices[c] for item, c in zip(found, chosen.choices, strict=True))
    needs = [
        Need(
            day=day,
            house=item.asked.house.name,
            enemy=goods[0],
            form=goods[1],
            label_counts=goods[2],
            number=number,
            most=max(number, _most(item, goods, day)),
        )
        for item, schedule in zip(found, schedules, strict=True)
        for (goods, day), number in item.needs(schedule).items()
    ]
    needs.sort(key=lambda need: (need.day, need.goods, need.house))
    return FarmPlan(
        candidates=tuple(found),
        schedules=schedules,
        pooled=given_out(chosen.stock, chosen.packs, needs),
        labour=sum(item.labour(schedule) for item, schedule in zip(found, schedules, strict=True)),
        gap=chosen.gap,
        complete=complete,
        holds=tuple(
            item.reachable and item.passes(schedule) for item, schedule in zip(found, schedules, strict=True)
        ),
    )


def _begun(asked: Asked, parts: int, effort: Effort) -> Candidate:
    """Return a house with its places and what can be asked of it: the risk, or the least that is in reach."""
    places = places_of(asked.offers, parts=parts, levels=asked.levels)
    trials = Trials(asked.house, places, asked.first_day, effort.groups, effort.tried)
    aim = Aim("chance", asked.risk)
    return Candidate(asked, trials, places, Search(trials, aim, effort), parts, aim)


def _bring_choices(item: Candidate, effort: Effort, houses: int, *, capped: bool) -> bool:
    """Find schedules that hold a house; say whether all were tried."""
    trials, nothing, search = item.trials, item.nothing, item.search
    if can_try_all(trials, effort):
        try_all(trials)
        item.call_judge()
        holding = [one for one, seen in trials.seen.items() if seen.gap(item.aim) <= 0]
        if not holding:
            _aim_lower(item)
            holding = [one for one, seen in trials.seen.items() if seen.gap(item.aim) <= 0] or [nothing]
        item.choices = _least(holding)
        if capped:
            item.choices = _least(holding) + _lesser(item, Guide(item.places))
        return True
    if trials.holds(nothing, item.aim) and (
        item.asked.judge is None or upper_bound(trials.see_all(nothing)) <= item.aim.most
    ):
        item.choices = [nothing]
        return False
    item.call_judge()
    if item.passes(nothing):
        item.choices = [nothing]
        return False
    if not item.passes(search.full) and not _aim_lower(item):
        item.choices = [nothing]
        return False
    guides = [Guide(item.places)]
    if houses > 1:
        guides.append(Guide(item.places, freight=1 / houses, by_animal=True))
    aims = _aim_nearer(item, guides[0])
    for guide in guides:
        search.cheapest(guide)
    item.choices = _best(item, guides, aims)
    if capped:
        item.choices += _lesser(item, guides[0])
    return False


def _aim_nearer(item: Candidate, guide: Guide) -> tuple[Aim, ...]:
    """Aim the search so that what it finds just passes, other members being better or worse off; return all aims."""
    search, aims = item.search, [item.aim]
    for _ in range(NEARER):
        if item.judging is None or item.trials.spent:
            break
        in_reach = item.trials.see_all(search.full).value(item.aim)
        if in_reach > item.aim.most:
            search.aim_at(replace(item.aim, most=in_reach))
            aims.append(item.aim)
            break
        found = search.cheapest(guide)
        off = item.wanted.most - item.see(found).value(item.aim)
        if abs(off) <= item.see(found).doubt(item.aim):
            break
        search.aim_at(replace(item.aim, most=max(item.aim.most + off, in_reach)))
        aims.append(item.aim)
    return tuple(aims)


def _aim_lower(item: Candidate) -> bool:
    """Aim at most of what releases can do where none holds the house; say whether that is worth an order."""
    item.reachable = False
    nothing, full = item.see(item.nothing), item.see(item.search.full)
    kind: Kind
    if nothing.chance - full.chance >= CLEARLY:
        kind, none, least = "chance", nothing.chance, full.chance
    elif nothing.days_above - full.days_above >= max(1.0, FEWER_DAYS * nothing.days_above):
        kind, none, least = "days", nothing.days_above, full.days_above
    else:
        return False
    item.asked_for = Aim(kind, none - MOST_OF_IT * (none - least))
    before, after = item.trials.see_all(item.nothing), item.trials.see_all(item.search.full)
    begun = Aim(kind, 1.0)
    none, least = before.value(begun), after.value(begun)
    item.search.aim_at(Aim(kind, none - MOST_OF_IT * (none - least)))
    return True


def _least(holding: Sequence[Schedule]) -> list[Schedule]:
    """Return the schedules of which none is a part of another: a fuller one never costs less."""
    kept: list[Schedule] = []
    for one in sorted(holding, key=lambda item: (sum(item), item)):
        if not any(all(a <= b for a, b in zip(other, one, strict=True)) for other in kept):
            kept.append(one)
    return sorted(kept, key=lambda item: tuple(-rung for rung in item))


def _best(item: Candidate, guides: Sequence[Guide], aims: Sequence[Aim]) -> list[Schedule]:
    """Return the cheapest schedules by each guide that meet each aim on all members of the search."""
    chosen: dict[Schedule, None] = dict.fromkeys(item.held() if item.judging is not None else ())
    for guide in guides:
        in_order = sorted(item.trials.seen, key=lambda one: (guide.cost(one), one))
        for aim in aims:
            taken = 0
            for one in in_order:
                if taken == MOST_CHOICES:
                    break
                if one in item.failed or not item.trials.holds(one, aim):
                    continue
                if item.trials.see_all(one).gap(aim) <= 0:
                    taken += 1
                    chosen[one] = None
    item.added.update(chosen)
    return list(chosen) or [item.search.full]


def _lesser(item: Candidate, guide: Guide, most: int = 10) -> list[Schedule]:
    """Return schedules for less money than holding the house takes, each with less chance than any cheaper one."""
    kept: list[Schedule] = []
    least = 2.0
    for one in sorted(item.trials.seen, key=lambda one: (guide.cost(one), one)):
        chance = item.trials.seen[one].chance
        if chance < least - 0.01 and one not in item.choices:
            kept.append(one)
            least = chance
    return kept if len(kept) <= most else [kept[round(i * (len(kept) - 1) / (most - 1))] for i in range(most)]


def _choices(item: Candidate) -> list[Choice]:
    return [
        Choice(
            needs=item.needs(one),
            labour=item.labour(one),
            chance=item.known_chance(one),
            holds=one not in item.failed and _thought_to_hold(item, one),
        )
        for one in item.choices
    ]


def _thought_to_hold(item: Candidate, schedule: Schedule) -> bool:
    """Return whether a schedule holds by what is known: that of the members that judge, else that of the search."""
    if item.judging is not None and schedule in item.judging.seen:
        return item.passes(schedule)
    if schedule in item.added:
        return True
    return item.trials.see(schedule).gap(item.aim) <= 0


def _solved(
    found: Sequence[Candidate], stock: Sequence[Arrival], budget: float | None, *, ties: bool
) -> Chosen:
    return cheapest_choices(stock, [_choices(item) for item in found], budget=budget, ties=ties)


def _search_again(found: Sequence[Candidate], stock: Sequence[Arrival], budget: float | None) -> bool:
    """Search each house once more with what the others order anyway; say whether new schedules came of it."""
    chosen = _solved(found, stock, budget, ties=False)
    opened = frozenset(
        (arrival.pack.supplier, arrival.delivery)
        for arrival, count in zip(chosen.stock, chosen.packs, strict=True)
        if count
    )
    bought: dict[tuple[Goods, date], int] = {}
    for arrival, count in zip(chosen.stock, chosen.packs, strict=True):
        where = (arrival.goods, arrival.delivery)
        bought[where] = bought.get(where, 0) + count * arrival.pack.pack_size
    needed: dict[tuple[Goods, date], int] = {}
    for item, c in zip(found, chosen.choices, strict=True):
        for where, number in item.needs(item.choices[c]).items():
            needed[where] = needed.get(where, 0) + number
    new = False
    for item, c in zip(found, chosen.choices, strict=True):
        if len(item.choices) < 2:
            continue
        own = item.needs(item.choices[c])
        spare = {where: max(0, n - needed.get(where, 0) + own.get(where, 0)) for where, n in bought.items()}
        guide = Guide(item.places, open_parcels=opened, spare=spare)
        better = item.search.cheapest(guide, [item.choices[c]])
        for one in (better, *_best(item, [guide], [item.aim])[:6]):
            if one not in item.choices:
                item.choices.append(one)
                new = True
    return new


def _judged(
    found: Sequence[Candidate], stock: Sequence[Arrival], budget: float | None, effort: Effort
) -> Chosen:
    """Return the choices that pass on the members that judge, and take fuller ones in where they do not."""
    ties = False
    while True:
        chosen = _solved(found, stock, budget, ties=ties)
        again = False
        for item, c in zip(found, chosen.choices, strict=True):
            one = item.choices[c]
            if item.judging is None or one in item.failed:
                continue
            if not _thought_to_hold(item, one) or item.passes(one):
                continue
            item.failed.add(one)
            fuller = _fuller(item, one, effort.judged)
            if budget is None:
                item.choices.remove(one)
                if not fuller and not item.choices:
                    item.choices, item.added = [item.search.full], {item.search.full}
            item.choices += [more for more in fuller if more not in item.choices]
            item.added.update(fuller)
            again = True
        if not again:
            if ties:
                return chosen
            ties = True


def _fuller(item: Candidate, schedule: Schedule, most: int) -> list[Schedule]:
    """Return schedules with more on one day that should pass where this one failed."""
    places, effects = item.places, item.search.effects
    if item.judged >= most:
        return [item.search.full]
    found = []
    gap = item.judge.see(schedule).gap(item.wanted)
    for i, place in enumerate(places):
        for rung in range(schedule[i] + 1, len(place.levels)):
            more = (*schedule[:i], rung, *schedule[i + 1 :])
            if not within_most(places, more):
                break
            if effects.of(more) - effects.of(schedule) >= gap:
                found += [more]
                if rung - 1 > schedule[i]:
                    found.append((*schedule[:i], rung - 1, *schedule[i + 1 :]))
                break
    if not found and not any(one not in item.failed for one in item.choices if one != schedule):
        found = [item.search.full]
    return [one for one in found if one not in item.failed]


def _most(item: Candidate, goods: Goods, day: date) -> int:
    return max(place.levels[-1] for place in item.places if (place.goods, place.day) == (goods, day))
