"""Small farms whose every plan can be written down: the plan must be the one that trying all of them finds."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from functools import cache, lru_cache
from math import ceil

import numpy as np
import pytest
from tests.planning.houses import a_house, a_pack, offers_of

from outpace.planning import pack_programme
from outpace.planning.candidate_house import Asked, upper_bound
from outpace.planning.effort import Effort
from outpace.planning.farm_plan import CLEARLY, FEWER_DAYS, MOST_OF_IT, plan_farm
from outpace.planning.house_outlook import outcome
from outpace.planning.offer import releases_of
from outpace.planning.release_plan import house_plans

DAYS = (1, 4, 7, 10)
MEMBERS = 16
ALL = Effort(groups=(MEMBERS,), tried=10**6, complete=81, relaxed=(1.0,), again=0, judged=0)
SCHEDULES = list(itertools.product(range(3), repeat=len(DAYS)))
FARMS = 50


@lru_cache(maxsize=64)
def a_small_house(name, per_plant, limit, seed):
    house = a_house(per_plant=per_plant, limit_per_plant=limit, members=MEMBERS, degc=20.0, seed=seed)
    return replace(house, name=name, horizon_d=21)


def a_small_farm(number):
    """Return the houses asked for and what their packs are, drawn by number."""
    rng = random.Random(number)
    size = rng.choice((500, 1000, 2000))
    terms = {
        "size": size,
        "price": rng.choice((10.0, 24.5, 40.0)),
        "freight": rng.choice((0.0, 12.0, 30.0)),
        "minimum_order_money": rng.choice((None, None, 60.0)),
        "minimum_order_packs": rng.choice((None, None, 2)),
        "packs_per_parcel": rng.choice((None, 1, 2)),
        "life_d": rng.choice((None, 1.0, 3.0, 6.0)),
    }
    suppliers = [a_pack(**terms)]
    if number % 25 == 5:
        terms["life_d"] = None
        suppliers = [a_pack(**terms)]
        suppliers.append(a_pack(**{**terms, "price": 30.5, "freight": 5.0, "supplier": "Meadow Lane"}))
    asked = []
    for name in ("north", "south"):
        house = a_small_house(
            name,
            rng.choice((0.02, 0.1, 0.1, 0.3)),
            rng.choice((8.0, 16.0, 30.0, 200.0)),
            rng.choice((3, 5)),
        )
        levels = sorted(rng.sample((size // 8, size // 4, size // 2, size), 2))
        offers = tuple(offers_of(house, suppliers, days=DAYS, labour=rng.choice((0.0, 3.5))))
        asked.append(Asked(house, offers, rng.choice((0.2, 0.3, 0.4)), levels=tuple(levels)))
    return asked, suppliers


def brute_force(asked, suppliers):
    """Return the rungs of both houses and the cost of the best plan, by writing down every one."""
    houses = [holding_by_trying_all(item) for item in asked]
    packs = Packs(suppliers)
    best = None
    for rungs in itertools.product(*houses):
        numbers = [[(0, *a.levels)[r] for r in one] for a, one in zip(asked, rungs, strict=True)]
        labour = sum(a.offers[0].labour for a, one in zip(asked, numbers, strict=True) for n in one if n)
        needs = tuple(sum(day) for day in zip(*numbers, strict=True))
        cost, count, animals = packs.cheapest(needs)
        late = sum(n * day for one in numbers for n, day in zip(one, DAYS, strict=True))
        # The stated rule for ties: packs, animals bought, animals let go, the earliest, the first in the lists.
        key = (
            round(cost + labour, 3), count, animals, sum(needs), late,
            *(tuple(-r for r in one) for one in rungs),
        )  # fmt: skip
        if best is None or key < best[0]:
            best = (key, rungs)
    return best[1], best[0][0]


def holding_by_trying_all(asked):
    """Return the schedules of one house that are what is asked for, or bring about most of what can be."""
    seen = {}
    units = [offer for offer in asked.offers if offer.pack.supplier == asked.offers[0].pack.supplier]
    for rungs in SCHEDULES:
        counts = [(0, *asked.levels)[r] / offer.pack.pack_size for r, offer in zip(rungs, units, strict=True)]
        done = outcome(asked.house, releases_of(asked.house, units, counts))
        above = done.above[asked.first_day :]
        seen[rungs] = (above.any(axis=0).mean(), above.sum(axis=0).mean())
    found = [rungs for rungs, (chance, _) in seen.items() if chance <= asked.risk + 1e-12]
    if found:
        return found
    nothing, full = seen[SCHEDULES[0]], seen[SCHEDULES[-1]]
    for part, worth in ((0, CLEARLY), (1, max(1.0, FEWER_DAYS * nothing[1]))):
        if nothing[part] - full[part] >= worth:
            most = nothing[part] - MOST_OF_IT * (nothing[part] - full[part])
            return [rungs for rungs, told in seen.items() if told[part] <= most + 1e-12]
    return [SCHEDULES[0]]


class Packs:
    """Every purchase of whole packs, cheapest first."""

    def __init__(self, suppliers):
        arrivals = [(pack, day) for pack in suppliers for day in range(len(DAYS))]
        # Two houses need two packs a day at most; where packs last, those of several days may come together.
        most = 2 if len(suppliers) > 1 else 5
        rows = []
        for counts in itertools.product(range(most + 1), repeat=len(arrivals)):
            cost = self.cost(suppliers, arrivals, counts)
            if cost is not None:
                animals = sum(n * pack.pack_size for n, (pack, _) in zip(counts, arrivals, strict=True))
                rows.append((round(cost, 3), sum(counts), animals, counts))
        rows.sort()
        self.rows = rows
        self.bought = np.array([row[3] for row in rows])
        self.arrivals = arrivals
        self.life = suppliers[0].life_d or 0.0
        self.known = {}

    @staticmethod
    def cost(suppliers, arrivals, counts):
        total = 0.0
        for pack in suppliers:
            for day in range(len(DAYS)):
                n = sum(c for c, (p, d) in zip(counts, arrivals, strict=True) if p is pack and d == day)
                if not n:
                    continue
                if n < (pack.minimum_order_packs or 0):
                    return None
                total += max(n * pack.price, pack.minimum_order_money or 0.0)
                total += pack.freight_per_parcel * (
                    ceil(n / pack.packs_per_parcel) if pack.packs_per_parcel else 1
                )
        return total

    def cheapest(self, needs):
        if needs not in self.known:
            sizes = np.array([pack.pack_size for pack, _ in self.arrivals])
            left = np.zeros((len(self.rows), len(DAYS)))
            for a, (_, day) in enumerate(self.arrivals):
                left[:, day] += self.bought[:, a] * sizes[a]
            enough = np.ones(len(self.rows), dtype=bool)
            for day, need in enumerate(needs):
                open_ = np.full(len(self.rows), float(need))
                for source in range(day + 1):
                    # What came first spoils first, and all lives are alike.
                    if DAYS[day] - DAYS[source] <= self.life:
                        taken = np.minimum(open_, left[:, source])
                        left[:, source] -= taken
                        open_ -= taken
                enough &= open_ <= 0
            self.known[needs] = self.rows[int(np.argmax(enough))][:3]
        return self.known[needs]


@cache
def planned(number):
    """Return the plan of a small farm; the same one for every test that changes nothing in the planning."""
    return plan_farm(a_small_farm(number)[0], effort=ALL)


@cache
def tried(number):
    """Return what trying all finds for a small farm."""
    return brute_force(*a_small_farm(number))


def agrees(number, found):
    rungs, cost = tried(number)
    return found.schedules == rungs and found.total == pytest.approx(cost), rungs, cost


@pytest.mark.parametrize("part", range(5))
def test_the_plan_of_every_small_farm_is_what_trying_all_finds(part):
    for number in range(part, FARMS, 5):
        found = planned(number)
        same, rungs, cost = agrees(number, found)
        assert same, (number, found.schedules, found.total, rungs, cost)
        assert found.complete
        assert found.gap == 0


def test_the_small_farms_hold_every_kind_of_case():
    farms = [a_small_farm(number) for number in range(FARMS)]
    plans = [planned(number) for number in range(30)]
    assert any(not any(map(any, plan.schedules)) and all(plan.holds) for plan in plans)
    assert any(not all(plan.holds) for plan in plans)
    assert any(len({s.house for s in plan.pooled.shares if s.arrival == line.arrival}) == 2
               for plan in plans for line in plan.pooled.lines)  # fmt: skip
    assert any(packs[0].minimum_order_packs for _, packs in farms)


def test_a_programme_that_forgets_freight_is_found_out(monkeypatch):
    terms_of = pack_programme.terms_of
    monkeypatch.setattr(
        pack_programme, "terms_of", lambda stock: tuple(replace(t, freight=0.0) for t in terms_of(stock))
    )
    anew = (plan_farm(a_small_farm(number)[0], effort=ALL) for number in range(10))
    assert not all(agrees(number, found)[0] for number, found in enumerate(anew))


def test_one_shared_pack_serves_eight_small_tunnels():
    asked = []
    for number in range(8):
        house = a_small_house(f"tunnel {number}", 0.1, 16.0, 3)
        offers = tuple(offers_of(house, [a_pack(size=1000)], days=(1,)))
        asked.append(Asked(house, offers, 0.5, levels=(125, 1000)))
    alone = [plan_farm([item], effort=ALL).total for item in asked]
    found = plan_farm(asked, effort=ALL)
    assert all(found.holds)
    assert sum(line.packs for line in found.pooled.lines) == 1
    # By hand: one pack of 40, one parcel of 15, and 4 for letting go in each tunnel.
    assert found.total == pytest.approx(40 + 15 + 8 * 4)
    assert found.total < sum(alone)


def test_a_budget_is_shared_so_that_most_houses_hold():
    asked, _ = next(
        farm
        for farm in map(a_small_farm, range(FARMS))
        if all(
            any(plan.schedules[0]) and plan.holds[0] for plan in (plan_farm([a], effort=ALL) for a in farm[0])
        )
    )
    whole = plan_farm(asked, effort=ALL)
    found = plan_farm(asked, effort=ALL, budget=whole.total - 0.5)
    assert found.total <= whole.total - 0.5 + 1e-3
    assert sum(found.holds) < sum(whole.holds)
    assert plan_farm(asked, effort=ALL, budget=whole.total).total == pytest.approx(whole.total)


def test_other_members_judge_by_the_upper_bound_of_the_chance():
    house = a_house(members=64)
    judge = a_house(members=512, seed=99)
    packs = [a_pack()]
    offers, others = (tuple(offers_of(one, packs, days=(2, 9))) for one in (house, judge))
    found = plan_farm([Asked(house, offers, 0.2, lambda: (judge, others))])
    (told,) = house_plans(found)
    assert told.feasible
    seen = outcome(judge, releases_of(judge, told.judge_offers, told.counts))
    above = seen.above[told.first_day :].any(axis=0)
    # The chance that is told is that of the judges, and not the search's.
    assert told.members == 512
    assert upper_bound(found.candidates[0].see(found.schedules[0])) <= 0.2
    assert abs(above.mean() - told.chance_above) < 0.06  # other luck of some members, by their groups


def test_where_nothing_holds_packs_that_help_clearly_are_ordered():
    house = a_house(per_plant=0.8, limit_per_plant=12.0, members=64)
    offers = tuple(offers_of(house, [a_pack()], days=(2, 9), most_per_m2=4.0))
    found = plan_farm([Asked(house, offers, 0.02)])
    (told,) = house_plans(found)
    assert not told.feasible
    assert any(told.counts)
    fall = told.chance_if_nothing - told.chance_above
    assert fall >= CLEARLY or told.days_above <= (1 - FEWER_DAYS / 2) * told.days_if_nothing


def test_a_plan_is_the_same_whatever_the_number_of_threads():
    def plans(threads):
        asked = []
        for number, (per_plant, limit) in enumerate(((0.05, 30.0), (0.3, 40.0), (0.1, 12.0))):
            house = a_small_house(f"bay {number}", per_plant, limit, 3)
            judge = a_house(
                per_plant=per_plant, limit_per_plant=limit, members=256, degc=20.0, seed=90 + number
            )
            packs = [a_pack(size=500), a_pack(size=2000, price=90.0)]
            offers, others = (tuple(offers_of(one, packs, days=(2, 9))) for one in (house, judge))
            asked.append(Asked(house, offers, 0.25, lambda j=judge, o=others: (j, o)))
        found = plan_farm(
            asked, effort=replace(ALL, complete=0, tried=60, again=1, judged=8), threads=threads
        )
        told = house_plans(found, threads=threads)
        tried = [(sorted(item.trials.seen), sorted(item.judge.seen)) for item in found.candidates]
        return found.schedules, found.pooled, found.total, tried, [figures_of(plan) for plan in told]

    assert plans(1) == plans(2) == plans(3)


def figures_of(plan):
    return {
        name: value for name, value in vars(plan).items() if name not in ("candidate", "offers", "seen")
    } | {"peaks": plan.seen.members.peaks.tolist()}
