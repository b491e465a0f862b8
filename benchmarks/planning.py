"""How long a plan takes, how well its chance holds on fresh members, and whether plain searches find a cheaper one.

``python -m benchmarks.planning [--farms 10] [--first 0] [--random 1000] [--starts 20] [--searched 3]``; no test, for
times are never tested.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from outpace.estimation.forecast import ways_ahead
from outpace.facts.table import load
from outpace.planning.candidate_house import Asked, upper_bound
from outpace.planning.farm_plan import FarmPlan, plan_farm
from outpace.planning.goods import cost_of_packs
from outpace.planning.house_outlook import HouseOutlook
from outpace.planning.offer import Offer
from outpace.planning.pack_programme import Choice, cheapest_choices
from outpace.planning.places import arrival_of, places_of, within_most
from outpace.planning.release_plan import house_plans
from outpace.planning.trials import Aim, Trials
from outpace.simulation.model import HouseModel, ZoneSpec
from outpace.simulation.parameters import draw
from outpace.simulation.run import ready, start
from outpace.terms.enemies import Pack

TODAY = date(2026, 5, 4)
DAYS = (2, 9, 16, 23)
RISK = 0.15
SEARCHERS, JUDGES, FRESH = 1024, 4096, 20_000
CLEAR = 3.0
"""Standard errors above the risk at which a schedule is not tried on more members."""
RACED = (64, 192, 768)
"""Members on which plain searches try a schedule, those added where the ones before cannot tell."""
POOL = 60
"""Random schedules drawn for each house, of which those that hold go into random plans and starts."""

Rungs = tuple[int, ...]


@dataclass(frozen=True)
class Scene:
    """One house of a scenario farm, from which members are drawn by number."""

    name: str
    area_m2: float
    per_plant: float
    level: float
    degc: float

    def outlook(self, members: int, seed: int) -> HouseOutlook:
        """Return the house with so many members."""
        model = HouseModel(
            crop="sweet_pepper",
            zones=(ZoneSpec("all", self.area_m2, 2.3 * self.area_m2),),
            pests=("myzus_persicae",),
            enemies=("aphidius_colemani", "aphidius_matricariae"),
            leaves_per_plant=40.0,
            leaf_area_m2=0.4,
        )
        parameters = draw(load(), model, members, seed)
        rng = np.random.default_rng(seed)
        now = self.per_plant * np.exp(0.5 * rng.standard_normal(members))
        return HouseOutlook(
            name=self.name, model=model, parameters=parameters, state=start(model, parameters, now, seed), today=0,
            temperature=np.full((29 * 24, 1), self.degc), committed=(), sprays=(),
            limits=np.full((1, 1, 1), self.level * 2.3 * self.area_m2), seed=seed,
            ways=ways_ahead(model, 28, members, seed),
        )  # fmt: skip

    def offers(self, house: HouseOutlook) -> tuple[Offer, ...]:
        """Return what can be had for it, with the draws of its members."""
        rng = np.random.default_rng(house.seed + 1)
        packs = [
            Pack(
                supplier="Harbour Insects", enemy=enemy, form="mummies", pack_size=size, price=price,
                label_counts="units_in_pack", freight_per_parcel=18.0, life_d=2.0, cutoff_weekday="Thu",
                delivery_weekday="Wed", lead_d=5,
            )
            for enemy, size, price in (
                ("aphidius_colemani", 250, 24.0), ("aphidius_colemani", 1000, 68.0),
                ("aphidius_matricariae", 500, 52.0),
            )
        ]  # fmt: skip
        return tuple(
            Offer(
                pack=pack, enemy=house.model.enemies.index(pack.enemy), delivery=TODAY + timedelta(days=day), day=day,
                cutoff=datetime(2026, 5, 4) + timedelta(days=day - 2), next_cutoff=day == DAYS[0],
                units=float(pack.pack_size), emergence=rng.beta(16, 4, house.members),
                share_female=rng.beta(11, 9, house.members), least_packs=1, labour=0.2 * self.area_m2 / 100,
                most_units=6.0 * self.area_m2, least_units=0.15 * self.area_m2, hours=self.area_m2 / 4000,
            )
            for day in DAYS
            for pack in packs
        )  # fmt: skip


def scenario(number: int) -> list[Scene]:
    """Return the six houses of one farm."""
    rng = np.random.default_rng(1000 + number)
    return [
        Scene(
            f"house {h}", float(rng.choice((80, 150, 300, 600))), float(rng.choice((0.02, 0.05, 0.1, 0.3))),
            float(rng.choice((20, 30, 60))), float(rng.choice((15, 17, 19))),
        )
        for h in range(6)
    ]  # fmt: skip


def asked_of(scenes: list[Scene], number: int) -> list[Asked]:
    """Return what is asked of the planner."""
    asked = []
    for h, scene in enumerate(scenes):
        house = scene.outlook(SEARCHERS, 50 * number + h)
        judge = scene.outlook(JUDGES, 10_000 + 50 * number + h)
        offers, others = scene.offers(house), scene.offers(judge)
        asked.append(Asked(house, offers, RISK, lambda j=judge, o=others: (j, o)))
    return asked


def deviations(scenes: list[Scene], found: FarmPlan, number: int) -> list[float]:
    """Return the chance on fresh members less the promised one, of every house, in points."""
    off = []
    for h, (scene, plan) in enumerate(zip(scenes, house_plans(found, others=False), strict=True)):
        fresh = scene.outlook(FRESH, 900_000 + 50 * number + h)
        item = found.candidates[h]
        trials = Trials(
            fresh, places_of(scene.offers(fresh), parts=item.parts), item.asked.first_day, (FRESH,)
        )
        off.append(100 * (trials.look(found.given(h)).chance - plan.chance_above))
    return off


class Plain:
    """Plain searches for a cheaper plan than one that was found, on the members that judged it.

    A schedule is first raced on few of these members, and passes by the very bound that the planner's must pass: on
    all of them. Packs are bought by the same programme, which is not asked where even animals at the price of the
    cheapest pack, with one parcel a day, would cost more than the best plan so far.
    """

    def __init__(self, found: FarmPlan, seed: int) -> None:
        self.found, self.items = found, found.candidates
        self.rng = np.random.default_rng(seed)
        self.stock = list(dict.fromkeys(arrival_of(o) for item in self.items for o in item.offers))
        self.open = [h for h, item in enumerate(self.items) if any(found.schedules[h]) and found.holds[h]]
        self.racers = {
            h: Trials(item.judge.house.laid, item.judge.places, item.asked.first_day, RACED)
            for h, item in enumerate(self.items)
            if h in self.open
        }
        self.pools = {h: self._random_schedules(h) for h in self.open}
        self.passed: dict[tuple[int, Rungs], bool] = {}
        self.costs: dict[tuple[Rungs, ...], float] = {}

    def seems(self, h: int, one: Rungs) -> bool:
        """Return whether a schedule meets the aim of the members that judge, on no more of them than it takes."""
        return self.racers[h].holds(one, self.items[h].wanted)

    def passes(self, h: int, one: Rungs) -> bool:
        """Return whether a schedule passes on all members that judged, as the planner's must."""
        if (h, one) not in self.passed:
            item = self.items[h]
            first = item.judge.see(one)
            fails = first.chance - RISK > CLEAR * first.doubt(Aim("chance", RISK))
            self.passed[h, one] = not fails and upper_bound(item.see(one)) <= RISK
        return self.passed[h, one]

    def _random_schedules(self, h: int) -> list[Rungs]:
        item, found = self.items[h], [self.items[h].search.full]
        for _ in range(POOL):
            one = tuple(
                int(self.rng.integers(0, len(place.levels))) if self.rng.random() < 0.4 else 0
                for place in item.places
            )
            if within_most(item.places, one) and self.seems(h, one):
                found.append(one)
        return found

    def at_least(self, plan: list[Rungs]) -> float:
        """Return what no purchase can be below: each animal at its lowest price, one parcel a day, labour."""
        total = 0.0
        parcels: dict[date, float] = {}
        for item, one in zip(self.items, plan, strict=True):
            total += item.labour(one)
            for place, rung in zip(item.places, one, strict=True):
                if rung:
                    offers = place.offers
                    total += place.levels[rung] * min(o.pack.price / o.pack.pack_size for o in offers)
                    freight = min(o.pack.freight_per_parcel or 0.0 for o in offers)
                    parcels[place.day] = min(freight, parcels.get(place.day, freight))
        return total + sum(parcels.values())

    def cost(self, plan: list[Rungs]) -> float:
        """Return packs, freight and labour of a plan of all houses."""
        if tuple(plan) not in self.costs:
            houses = [
                [Choice(item.needs(one), item.labour(one))]
                for item, one in zip(self.items, plan, strict=True)
            ]
            chosen = cheapest_choices(self.stock, houses, ties=False)
            labour = sum(item.labour(one) for item, one in zip(self.items, plan, strict=True))
            self.costs[tuple(plan)] = sum(cost_of_packs(chosen.stock, chosen.packs)) + labour
        return self.costs[tuple(plan)]

    def random_plans(self, draws: int) -> float:
        """Return the least cost of so many plans put together from random schedules that pass in every house."""
        if not self.open:
            return self.found.total
        best, plan = np.inf, list(self.found.schedules)
        for _ in range(draws):
            for h in self.open:
                plan[h] = self._one_that_passes(h)
            if self.at_least(plan) < best:
                best = min(best, self.cost(plan))
        return best

    def _one_that_passes(self, h: int) -> Rungs:
        while True:
            one = self.pools[h][int(self.rng.integers(len(self.pools[h])))]
            if self.passes(h, one):
                return one
            self.pools[h].remove(one)

    def by_turns(self, starts: int) -> float:
        """Return the least cost of searches by one house and one place at a time, each from random schedules.

        More animals never cost less, so the cheapest number at a place is the least with which the house still holds.
        """
        if not self.open:
            return self.found.total
        best = np.inf
        for _ in range(starts):
            plan = list(self.found.schedules)
            for h in self.open:
                plan[h] = self._lowered(h, self._one_that_passes(h))
            best = min(best, self.cost(plan))
        return best

    def _lowered(self, h: int, one: Rungs) -> Rungs:
        """Return a schedule with the least at each place in turn; where that fails on all, one rung back at a time."""
        way = [one]
        for i in self.rng.permutation(len(one)):
            low, high = -1, one[i]
            while high - low > 1:
                middle = (low + high) // 2
                less = (*one[:i], middle, *one[i + 1 :])
                low, high = (low, middle) if self.seems(h, less) else (middle, high)
            way += [(*one[:i], rung, *one[i + 1 :]) for rung in range(one[i] - 1, high - 1, -1)]
            one = way[-1]
        return next(step for step in reversed(way) if self.passes(h, step))


def main() -> None:
    """Print a row a farm, and the sums."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--farms", type=int, default=10)
    parser.add_argument("--random", type=int, default=1000)
    parser.add_argument("--starts", type=int, default=20)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--searched", type=int, default=3, help="farms on which plain searches are tried too")
    options = parser.parse_args()
    ready()
    plan_farm(asked_of(scenario(99)[:1], 99))
    off: list[float] = []
    print(
        "farm | processor s | wall s | cost | holds | packs | mean |off| | random | by turns | off, by house"
    )
    for number in range(options.first, options.first + options.farms):
        scenes = scenario(number)
        asked = asked_of(scenes, number)
        cpu, wall = time.process_time(), time.perf_counter()
        found = plan_farm(asked)
        cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
        here = deviations(scenes, found, number)
        off += here
        rand = turns = float("nan")
        if number < options.first + options.searched:
            plain = Plain(found, number)
            rand, turns = plain.random_plans(options.random), plain.by_turns(options.starts)
        packs = sum(line.packs for line in found.pooled.lines)
        print(
            f"{number} | {cpu:.1f} | {wall:.1f} | {found.total:.0f} | {sum(found.holds)} | {packs} | "
            f"{np.mean(np.abs(here)):.2f} | {rand:.0f} | {turns:.0f} | {' '.join(f'{one:+.2f}' for one in here)}",
            flush=True,
        )
    sizes = np.abs(off)
    print(
        f"off by {sizes.mean():.2f} points on average, {np.quantile(sizes, 0.95):.2f} in 95 % of houses, "
        f"{sizes.max():.2f} at worst; mean {np.mean(off):+.2f}"
    )


if __name__ == "__main__":
    main()
