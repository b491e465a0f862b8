"""The product's own decision after each walk of a virtual house: refit, look ahead, plan, order.

It is given what a grower enters: the walks, the parcels, the logger, the aphid as the scout names it, the enemy as
the supplier does. The truth of the house is not looked at.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from math import ceil

import numpy as np
from benchmarks.loop.market import LEAD_D, MIDDLE, PACK_PER_M2, WEEK_D, Prices, order_now
from benchmarks.skill.reading import House, house_of, with_signs
from benchmarks.virtual_house.scenes import WASPS
from benchmarks.virtual_house.season import LONGEST_D, Known, Plan, Policy
from benchmarks.virtual_house.truth import Truth

from outpace.estimation.assimilation import Posterior, refit
from outpace.estimation.forecast import ways_ahead
from outpace.estimation.lot_quality import lot_quality
from outpace.estimation.observations import units_per_plant
from outpace.estimation.weighing import in_order, of_members
from outpace.facts.table import Facts
from outpace.planning.candidates import rank
from outpace.planning.effort import FAST
from outpace.planning.house_outlook import HouseOutlook
from outpace.planning.release_plan import Offer, plan_house
from outpace.planning.rule_of_thumb import highest_rate, lowest_rate
from outpace.terms.enemies import Lot, Pack

DAY_0 = date(2026, 1, 5)


@dataclass(frozen=True, slots=True)
class Setting:
    """How the product is run in the loop.

    ``opening`` packs are ordered after the first walk if the enemy fits, for early wasps are worth most; from then on
    the plan decides. ``risk`` is the accepted chance of being above the level; where no plan meets it, what is spent
    is weighed against ``loss``, what the grower loses in a house above its level [money m⁻²].
    """

    risk: float
    loss: float
    opening: int = 0
    members: int = 128
    horizon_d: int = 42
    deliveries: int = 3
    tried: int = 30
    searched_on: int = 64
    floor: bool = True
    prices: Prices = MIDDLE


def outpace_policy(facts: Facts, setting: Setting) -> Policy:
    """Return the policy that does each week what the product plans."""

    def decide(known: Known) -> Plan:
        if len(known.walks) == 1 and setting.opening:
            house = house_of(known, facts, setting.members, setting.horizon_d)
            packs = setting.opening if _fits(known, facts, house) else 0
            return order_now(packs, known.place.area_m2)
        if setting.risk >= 1:
            return Plan()  # whatever happens is accepted: there is nothing to plan
        house, posterior = _held(known, facts, setting)
        if not _fits(known, facts, house):
            return Plan()
        ahead = _outlook(known, facts, house, posterior, setting)
        offers = _offers(known, facts, setting, ahead)
        return order_now(_packs_now(ahead, offers, setting, known.place.area_m2), known.place.area_m2)

    return decide


def _packs_now(ahead: HouseOutlook, offers: tuple[Offer, ...], setting: Setting, area_m2: float) -> int:
    """Return the packs to order today: of the plan that meets the risk, else of the one that is worth its cost."""
    if not offers:
        return 0
    groups = (setting.searched_on, setting.members - setting.searched_on)
    plan = plan_house(
        ahead, offers, risk=setting.risk, effort=replace(FAST, groups=groups, tried=setting.tried, again=1)
    )
    counts = plan.counts
    if not plan.feasible and plan.frontier:
        counts = min(plan.frontier, key=lambda each: (each[0] / area_m2 + setting.loss * each[1], each[0]))[2]
    now = next(i for i, offer in enumerate(plan.offers) if offer.next_cutoff)
    return counts[now]


def _held(known: Known, facts: Facts, setting: Setting) -> tuple[House, Posterior]:
    """Return the house as it is known and what the product holds of it."""
    days = min(setting.horizon_d, LONGEST_D - known.day) + 1
    house = house_of(known, facts, setting.members, days)
    starts = [walk.day for walk in house.walks] + [release.day for release in house.releases]
    posterior = refit(
        house.model, facts, house.temperature, house.walks, house.releases, house.sprays,
        first_day=int(min(*starts, house.today)), until_day=house.today, members=setting.members, seed=_seed(known),
    )  # fmt: skip
    return house, with_signs(house, posterior, facts)


def _seed(known: Known) -> int:
    return zlib.crc32(f"{known.place.seed}".encode())


def enemy_for(place: Truth, facts: Facts) -> str:
    """Return the wasp that the product names first for the aphid as the scout wrote it down, at usual warmth."""
    sold = sorted(WASPS)
    usual = 0.5 * (place.scene.coolest + place.scene.warmest)
    return rank(facts, sold, (place.named,), mean_temperature=usual, hottest=usual)[0].enemy


def _fits(known: Known, facts: Facts, house: House) -> bool:
    """Return whether the enemy on offer accepts the aphid that was written down."""
    ahead = house.temperature[house.today * 24 : (house.today + 14) * 24]
    ranked = rank(
        facts,
        [known.place.enemy],
        house.model.pests,
        mean_temperature=float(ahead.mean()),
        hottest=float(ahead.mean(axis=1).max()),
    )
    return ranked[0].fits


def _outlook(
    known: Known, facts: Facts, house: House, posterior: Posterior, setting: Setting
) -> HouseOutlook:
    limit = known.level * units_per_plant(house.model, known.habit.unit) * known.place.plants
    return HouseOutlook(
        name="house",
        model=house.model,
        parameters=posterior.parameters,
        state=posterior.state,
        today=house.today,
        temperature=in_order(house.temperature, posterior.lineage),
        committed=tuple(
            of_members(release, posterior.lineage) for release in house.releases if release.day >= house.today
        ),
        sprays=(),
        limits=np.full((1, 1, setting.members), limit),
        seed=posterior.seed,
        horizon_d=(days := min(setting.horizon_d, LONGEST_D - known.day)),
        ways=ways_ahead(house.model, days, setting.members, posterior.seed),
    )


def _offers(known: Known, facts: Facts, setting: Setting, ahead: HouseOutlook) -> tuple[Offer, ...]:
    """Return the deliveries of the coming weeks, in packs of the house's share."""
    area, prices = known.place.area_m2, setting.prices
    units = PACK_PER_M2 * area
    pack = Pack(
        supplier="supplier",
        enemy=known.place.enemy,
        form="mummies",
        pack_size=max(1, round(units)),
        price=prices.insect * units,
        freight_per_parcel=prices.parcel * area,
        label_counts="units_in_pack",
        cutoff_weekday="Mon",
        delivery_weekday="Thu",
    )
    lot = Lot(
        lot="not seen", enemy=pack.enemy, form=pack.form, label_counts=pack.label_counts,
        labelled_number=pack.pack_size,
    )  # fmt: skip
    quality = lot_quality(facts, lot, (), setting.members, known.place.seed)
    use = "preventive" if not known.found else "light"
    rate = lowest_rate(facts, pack.enemy, use) if setting.floor else None
    highest = highest_rate(facts, pack.enemy)
    times = facts.one("", "release_most_times_published").value
    days = [known.day + LEAD_D + WEEK_D * week for week in range(setting.deliveries)]
    return tuple(
        Offer(
            pack=pack,
            enemy=0,
            delivery=DAY_0 + timedelta(days=day),
            day=day,
            cutoff=datetime.combine(DAY_0 + timedelta(days=day - LEAD_D), datetime.min.time()),
            next_cutoff=index == 0,
            units=units * quality.units_per_label,
            emergence=quality.emergence,
            share_female=quality.share_female,
            least_packs=max(1, ceil(rate * area / (units * quality.units_per_label) - 1e-9)) if rate else 1,
            labour=prices.release * area,
            most_units=times * highest * area if highest is not None else 100.0 * area,
        )
        for index, day in enumerate(days)
        if day < min(LONGEST_D, ahead.today + ahead.horizon_d)
    )
