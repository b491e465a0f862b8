"""How long a plan takes, how well its chance holds on fresh members, and whether plain searches find a cheaper one.

``python -m benchmarks.planning [--farms 10] [--first 0] [--random 1000] [--starts 20] [--searched 10]``; no test, for
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


def plain_searches(found: FarmPlan, draws: int, starts: int, seed: int) -> tuple[float, float]:
    """Return the least cost of random plans that pass, and of searches by one house and day at a time.

    Both are tried on the members that judged, by the same upper bound; packs are bought by the same programme. On the
    way a step is taken by the first quarter of these members, and where it ends is tried on all of them: what does not
    pass there goes back by single rungs.
    """
    rng = np.random.default_rng(seed)
    best_random = best_turns = np.inf
    items = found.candidates
    stock = list(dict.fromkeys(arrival_of(o) for item in items for o in item.offers))

    def passes(h: int, one: Rungs) -> bool:
        item = items[h]
        first = item.judge.see(one)
        if first.chance - RISK > CLEAR * first.doubt(Aim("chance", RISK)):
            return False
        return upper_bound(item.see(one)) <= RISK

    def seems(h: int, one: Rungs) -> bool:
        return items[h].judge.see(one).chance <= items[h].wanted.most

    def cost(plan: list[Rungs]) -> float:
        houses = [[Choice(item.needs(one), item.labour(one))] for item, one in zip(items, plan, strict=True)]
        chosen = cheapest_choices(stock, houses, ties=False)
        labour = sum(item.labour(one) for item, one in zip(items, plan, strict=True))
        return sum(cost_of_packs(chosen.stock, chosen.packs)) + labour

    def lowered(h: int, one: Rungs) -> Rungs:
        steps = [one]
        for i in rng.permutation(len(one)):
            while one[i] and seems(h, less := (*one[:i], one[i] - 1, *one[i + 1 :])):
                one = less
                steps.append(one)
        return next(step for step in reversed(steps) if passes(h, step))

    open_ = [h for h, item in enumerate(items) if any(found.schedules[h]) and found.holds[h]]
    if not open_:
        return found.total, found.total
    pools: dict[int, list[Rungs]] = {h: [items[h].search.full] for h in open_}
    for h in open_:
        places = items[h].places
        for _ in range(60):
            one = tuple(int(rng.integers(0, len(p.levels))) if rng.random() < 0.4 else 0 for p in places)
            if within_most(places, one) and seems(h, one):
                pools[h].append(one)
    base = list(found.schedules)
    for _ in range(draws):
        plan = [*base]
        for h in open_:
            plan[h] = pools[h][int(rng.integers(len(pools[h])))]
        now = cost(plan)
        if now < best_random and all(passes(h, plan[h]) for h in open_):
            best_random = now
    for _ in range(starts):
        plan = [*base]
        for h in open_:
            passing = [one for one in pools[h] if passes(h, one)]
            plan[h] = lowered(h, passing[int(rng.integers(len(passing)))])
        best_turns = min(best_turns, cost(plan))
    return best_random, best_turns


def main() -> None:
    """Print a row a farm, and the sums."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--farms", type=int, default=10)
    parser.add_argument("--random", type=int, default=1000)
    parser.add_argument("--starts", type=int, default=20)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument(
        "--searched", type=int, default=10, help="farms on which plain searches are tried too"
    )
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
            rand, turns = plain_searches(found, options.random, options.starts, number)
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
