"""Which schedule each house is given: what should hold goes to one programme, and what it takes is tried in earnest.

First only schedules are offered that hold by a margin, so that there is soon a plan that passes; then such as may just
hold, as long as that would cost less. What fails on the members that judge is struck out, and fuller ones are looked
for. The last word has the programme over nothing but what passed.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import partial

from outpace.planning.candidate_house import Candidate
from outpace.planning.effort import Effort
from outpace.planning.goods import Arrival, Goods, cost_of_packs
from outpace.planning.guide import Guide
from outpace.planning.pack_programme import MONEY_STEP, Choice, Chosen, cheapest_choices
from outpace.planning.places import Schedule
from outpace.planning.side_by_side import TOGETHER, of_each

ROUNDS = ((1.0, 3), (0.0, 2), (-1.0, 2))
"""Standard errors taken off in turn from what is told of a schedule, and the programmes solved at each at most."""
MOST_CHOICES = 10
"""Schedules offered of one house by each guide."""
LESSER = 10
"""Schedules offered that do not hold, where money may end before all houses do."""
CLEARER = 0.01
"""How much lower the chance of a schedule must lie to be worth its place beside a cheaper one."""
CLOSE = 0.002
"""How near to the least a programme on the way must come, as a share of it; the last one is exact."""


def settled(
    found: Sequence[Candidate],
    stock: Sequence[Arrival],
    budget: float | None,
    effort: Effort,
    *,
    complete: bool,
    threads: int = TOGETHER,
) -> Chosen:
    """Return the choices of all houses, places in their lists of choices, and the packs that serve them.

    Parameters
    ----------
    complete : bool
        Whether every schedule of every house was tried.
    threads : int
        Houses worked on at a time; of no effect on the choices.
    """
    capped = budget is not None
    open_ = [item for item in found if item.guides]
    if not complete and len(open_) > 1:
        before = float("inf")
        for _ in range(effort.again):
            cost = _search_again(found, stock, budget, complete=complete, threads=threads)
            if cost >= before - MONEY_STEP:
                break
            before = cost
    best = float("inf")
    for surely, rounds in ROUNDS:
        for _ in range(rounds):
            of_each(
                partial(_offer, surely=surely, judged=effort.judged, complete=complete, capped=capped),
                open_,
                threads,
            )
            chosen = _solved(found, stock, budget)
            taken = [(item, item.choices[c]) for item, c in zip(found, chosen.choices, strict=True)]
            cost = _cost(found, chosen)
            if not capped and cost >= best - MONEY_STEP:
                break
            passed = of_each(_passes_if_new, taken, threads)
            failed = [each for each, passes in zip(taken, passed, strict=True) if not passes]
            if not failed:
                best = cost
                if not complete:
                    of_each(_try_thinner, taken, threads)
                break
            of_each(_try_fuller, failed, threads)
    of_each(partial(_offer, surely=None, complete=complete, capped=capped), open_, threads)
    return _solved(found, stock, budget, ties=effort.ties, close=0.0)


def _passes_if_new(taken: tuple[Candidate, Schedule]) -> bool:
    """Return whether a schedule that was taken passes, where that was not known of it and is asked of it."""
    item, one = taken
    return not item.guides or one in item.lesser or one in item.told.known or item.passes(one)


def _try_thinner(taken: tuple[Candidate, Schedule]) -> None:
    item, one = taken
    if item.guides and item.judging is not None:
        item.search.thinner(one)


def _try_fuller(failed: tuple[Candidate, Schedule]) -> None:
    item, one = failed
    if item.judging is not None or not item.trials.spent:
        item.search.fuller(one)


def _offer(
    item: Candidate, *, surely: float | None, complete: bool, capped: bool, judged: int | None = None
) -> None:
    """Set the choices of a house: what passed, and what should by so many standard errors; None for what passed.

    So it is too where as many as ``judged`` are known.
    """
    if judged is not None and len(item.told.known) >= judged:
        surely = None
    if complete:  # of one that was tried on all there are nothing is left to tell
        for one in item.trials.seen:
            item.told.tell(one)
    held = set(item.held())

    def holds(one: Schedule) -> bool:
        if surely is None or one in item.told.known:
            return one in held
        return item.told.tell(one).holds(surely)

    if complete:
        chosen = {one for one in item.trials.seen if holds(one)}
    else:
        chosen = set()
        for guide in item.guides:
            taken = 0
            for one in sorted(item.trials.seen.keys() | held, key=lambda one: (guide.cost(one), one)):
                if holds(one):
                    chosen.add(one)
                    taken += 1
                    if taken == MOST_CHOICES:
                        break
    item.choices = least(chosen) or [item.search.full]
    item.lesser = set()
    if capped:
        lesser = _lesser(item)
        item.lesser = set(lesser)
        item.choices += lesser


def least(holding: set[Schedule]) -> list[Schedule]:
    """Return the schedules of which none is a part of another: a fuller one never costs less."""
    kept: list[Schedule] = []
    for one in sorted(holding, key=lambda item: (sum(item), item)):
        if not any(all(a <= b for a, b in zip(other, one, strict=True)) for other in kept):
            kept.append(one)
    return sorted(kept, key=lambda item: tuple(-rung for rung in item))


def _lesser(item: Candidate) -> list[Schedule]:
    """Return schedules for less money than holding the house takes, each with less chance than any cheaper one."""
    kept: list[Schedule] = []
    lowest, guide = 2.0, item.guides[0]
    for one in sorted(item.trials.seen, key=lambda one: (guide.cost(one), one)):
        chance = item.known_chance(one)
        if chance < lowest - CLEARER and one not in item.choices:
            kept.append(one)
            lowest = chance
    if len(kept) <= LESSER:
        return kept
    return [kept[round(i * (len(kept) - 1) / (LESSER - 1))] for i in range(LESSER)]


def _choices(item: Candidate) -> list[Choice]:
    return [
        Choice(
            needs=item.needs(one),
            labour=item.labour(one),
            chance=item.known_chance(one),
            holds=one not in item.lesser and (bool(item.guides) or item.passes(one)),
        )
        for one in item.choices
    ]


def _solved(
    found: Sequence[Candidate],
    stock: Sequence[Arrival],
    budget: float | None,
    *,
    ties: bool = False,
    close: float = CLOSE,
) -> Chosen:
    choices = [_choices(item) for item in found]
    return cheapest_choices(stock, choices, budget=budget, ties=ties, close=close)


def _cost(found: Sequence[Candidate], chosen: Chosen) -> float:
    labour = sum(item.labour(item.choices[c]) for item, c in zip(found, chosen.choices, strict=True))
    return sum(cost_of_packs(chosen.stock, chosen.packs)) + labour


def _search_again(
    found: Sequence[Candidate],
    stock: Sequence[Arrival],
    budget: float | None,
    *,
    complete: bool,
    threads: int,
) -> float:
    """Search each house once more with what the others order anyway; return what all cost before."""
    open_ = [item for item in found if item.guides]
    of_each(partial(_offer, surely=0.0, complete=complete, capped=budget is not None), open_, threads)
    chosen = _solved(found, stock, budget)
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

    def again(taken: tuple[Candidate, int]) -> None:
        item, c = taken
        own = item.needs(item.choices[c])
        spare = {where: max(0, n - needed.get(where, 0) + own.get(where, 0)) for where, n in bought.items()}
        guide = Guide(item.places, open_parcels=opened, spare=spare)
        item.search.cheapest(guide, [item.choices[c]])
        item.guides.append(guide)

    taken = zip(found, chosen.choices, strict=True)
    of_each(again, [(item, c) for item, c in taken if item.guides], threads)
    return _cost(found, chosen)
