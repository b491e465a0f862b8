"""The plan of all houses of a farm together: one schedule a house, and whole packs shared between them.

Each house brings the schedules that hold it; one programme picks one of each and the packs, freight and parcels that
serve them all, at the least cost. What it picks is judged on other members than those it was found on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from outpace.planning.candidate_house import Asked, Candidate, upper_bound
from outpace.planning.effort import THOROUGH, Effort
from outpace.planning.goods import Goods, Need, cost_of_packs
from outpace.planning.guide import Guide
from outpace.planning.house_search import Search, can_try_all, try_all
from outpace.planning.places import Schedule, arrival_of, places_of
from outpace.planning.pooling import Line, Pooled, given_out
from outpace.planning.settled import settled
from outpace.planning.side_by_side import TOGETHER, of_each
from outpace.planning.trials import Aim, Kind, Trials

CLEARLY = 0.1
"""Where nothing holds: a fall of the chance by so much is worth an order; else by `FEWER_DAYS` of the days above."""
FEWER_DAYS = 0.2
MOST_OF_IT = 0.8
"""Where nothing holds: the share of all that releases could do which is ordered; the rest costs most of the money."""
NEARER = (3, 1)
"""How often a house is searched by each guide, with what the members that judge said of what was found before."""
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


def plan_farm(
    asked: Sequence[Asked],
    *,
    budget: float | None = None,
    effort: Effort = THOROUGH,
    threads: int = TOGETHER,
) -> FarmPlan:
    """Return the cheapest plan found for some houses that share packs, freight and orders.

    Parameters
    ----------
    asked : sequence of Asked
        Names of houses must differ.
    budget : float, optional
        Most that packs, freight and labour may come to. [farm's money]
    effort : Effort
        `THOROUGH` for a person's plan, `FAST` for many decisions in a row.
    threads : int
        Houses worked on at a time; of no effect on the plan.
    """
    parts = PARTS if len(asked) > 1 else 1
    found = of_each(lambda item: _begun(item, parts, effort), asked, threads)
    complete = all(of_each(lambda item: _bring_schedules(item, effort, len(asked)), found, threads))
    stock = tuple(dict.fromkeys(arrival_of(offer) for item in asked for offer in item.offers))
    chosen = settled(found, stock, budget, effort, complete=complete, threads=threads)
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
    figures = None if asked.figures is None else asked.figures(places)
    trials = Trials(asked.house, places, asked.first_day, effort.groups, effort.tried, figures=figures)
    aim = Aim("chance", asked.risk)
    return Candidate(asked, trials, places, Search(trials, aim, effort), parts, aim)


def _bring_schedules(item: Candidate, effort: Effort, houses: int) -> bool:
    """Find schedules that should hold a house; say whether all were tried."""
    trials, nothing, search = item.trials, item.nothing, item.search
    item.choices = [nothing]
    if can_try_all(trials, effort):
        try_all(trials)
        item.call_judge()
        holds = item.passes(nothing) or item.passes(search.full)
        if holds or any(item.told.tell(one).holds() for one in trials.seen) or _aim_lower(item):
            item.guides = [Guide(item.places)]
        return True
    if trials.holds(nothing, item.asked_for) and (
        item.asked.judge is None or upper_bound(trials.see_all(nothing)) <= item.asked_for.most
    ):
        return False
    item.call_judge()
    if item.passes(nothing) or (not item.passes(search.full) and not _aim_lower(item)):
        return False
    item.guides = [Guide(item.places)]
    if houses > 1:
        item.guides.append(Guide(item.places, freight=1 / houses, by_animal=True))
    for times, guide in zip(NEARER, item.guides, strict=False):
        _come_nearer(item, guide, times)
    return False


def _come_nearer(item: Candidate, guide: Guide, times: int) -> None:
    """Search, try what is found on all members that judge, and search again with what is known from that."""
    starts: list[Schedule] = []
    for _ in range(times):
        best = item.search.cheapest(guide, starts)
        if best in item.told.known and item.passes(best):
            break
        starts = [best] if item.passes(best) else item.search.fuller(best)
        if item.trials.spent:
            break


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
    item.search.aim_at(item.wanted)
    return True


def _most(item: Candidate, goods: Goods, day: date) -> int:
    return max(place.levels[-1] for place in item.places if (place.goods, place.day) == (goods, day))
