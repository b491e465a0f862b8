"""The courses open to one house, each as the simulation can run it: wait, by hand, enrich, spots, spray, remove."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.observations import WalkSeen
from outpace.facts.table import Fact
from outpace.language import say, to_say
from outpace.planning.course import Fate, clumping_now, fate, on_a_part, share_on_worst, standing_now
from outpace.planning.house_outlook import HouseOutlook
from outpace.planning.release_plan import Offer, cost_of, releases_of
from outpace.season.case import HouseCase
from outpace.season.considered import Considered, Figures, considered
from outpace.season.judged import SPOT_KEPT_D
from outpace.simulation.draws import Luck, spread_over
from outpace.simulation.model import Release
from outpace.simulation.model import Spray as Treatment

Array = NDArray[np.float64]

LABOUR, TREATMENT = to_say("labour"), to_say("treatment")
CROP, CLEARING = to_say("value of the crop"), to_say("work of clearing")
NO_DELIVERY = to_say("no delivery can be ordered that may be released there")
NOON = 0.5
SEARCH_MEMBERS = 256
"""How many members tell packs apart; what is found meets all of them."""
NEAR = 0.1
"""Where no packs hold the house: the cheapest within this share of the fewest aphid-days above the level."""


@dataclass(frozen=True)
class Step:
    """One course: how it fares, what it costs, and what is let go or treated in it.

    ``money`` is None where the price of a treatment, or what the crop is worth, was not told. Labour counts as nothing
    where no wage was told. ``unpriced`` says what is missing.
    """

    key: str
    fared: Fate | None
    money: float | None
    packs: float = 0.0
    freight: float = 0.0
    labour: float | None = 0.0
    product: float | None = 0.0
    minutes: float = 0.0
    unpriced: tuple[str, ...] = ()
    bought: tuple[tuple[Offer, int], ...] = ()
    spray: Considered | None = None
    plants: int | None = None
    met: tuple[Array | float, Array | float] = (1.0, 1.0)
    deeds: tuple[Treatment, ...] = ()
    why_not: str | None = None


@dataclass
class Ground:
    """What all courses of a house share."""

    case: HouseCase
    house: HouseOutlook
    levels: tuple[float, ...]
    risk: float
    loss_per_unit_day: float | None
    crop_worth: float | None = None
    used: list[Fact] = field(default_factory=list)

    def fact(self, quantity: str) -> Fact:
        """Return a fact, and remember that it was used."""
        found = self.case.facts.one("", quantity)
        self.used.append(found)
        return found

    def losses(self, fared: Fate) -> Array | None:
        """Return the money each member loses, never more than the crop is worth; None where no loss was told."""
        if self.loss_per_unit_day is None:
            return None
        most = np.inf if self.crop_worth is None else self.crop_worth
        return np.minimum(self.loss_per_unit_day * fared.unit_days, most)

    def expected_loss(self, fared: Fate) -> float | None:
        """Return the mean of those losses."""
        found = self.losses(fared)
        return None if found is None else float(found.mean())

    def fares(
        self,
        releases: Sequence[Release] = (),
        sprays: Sequence[Treatment] = (),
        committed: Sequence[Release] | None = None,
        members: int | None = None,
    ) -> Fate:
        """Return how the house fares, on all members or on the first of them."""
        house = self.house if members is None else self.house.some(members)
        kept = None if committed is None else tuple(committed)
        if members is not None:
            small = replace(self.house, committed=kept or ()).some(members).committed
            kept = None if committed is None else small
            sprays = replace(self.house, sprays=tuple(sprays)).some(members).sprays
        return fate(house, self.levels, releases=releases, sprays=sprays, committed=kept)


def wait(ground: Ground) -> Step:
    """Return what comes of doing no more than was ordered."""
    return Step("wait", ground.fares(), 0.0)


def spot_plants(case: HouseCase, told: int | None, usual: Fact) -> int:
    """Return how many plants a treatment of spots works on: as told, as tagged lately, else a usual share."""
    if told is not None:
        return max(1, min(told, int(case.model.plants.sum())))
    hunted = [
        walk
        for walk in case.walks
        if isinstance(walk, WalkSeen) and walk.hunted and walk.day >= case.today - SPOT_KEPT_D
    ]
    if hunted:
        tagged = int((hunted[-1].low > 0).any(axis=0).sum())
        if tagged:
            return tagged
    return max(1, round(usual.value * float(case.model.plants.sum())))


def met_on_spots(ground: Ground, plants: int) -> tuple[Array, Array]:
    """Return which share of the aphids, and of the adult enemies, is on so many of the worst plants that are found.

    Enemies gather where hosts are: their share lies somewhere between that of the plants and that of the aphids.
    """
    house = ground.house
    part = plants / float(house.model.plants.sum())
    now = standing_now(house).aphids[0].sum(axis=1)
    whole = np.maximum(now.sum(axis=0), 1e-12)
    shares = [
        share_on_worst(part, clumping_now(house, now[pest], pest)) * now[pest] for pest in range(len(now))
    ]
    luck = Luck(house.seed, house.members)
    found = spread_over(
        ground.fact("plant_detection"), luck.normal("course.spots found"), least=0.0, most=1.0
    )
    aphids = np.where(whole > 1e-9, sum(shares) / whole, part) * (found if part < 1 else 1.0)
    between = np.random.Generator(np.random.Philox(key=[house.seed, 7])).random(house.members)
    enemies = part * found + between * np.maximum(aphids - part * found, 0.0)
    return np.asarray(aphids), np.asarray(enemies)


def deed_by_hand(ground: Ground, plants: int) -> Treatment:
    """Return squashing and bagging on so many of the worst plants, at noon today, as the simulation runs it."""
    aphids, _ = met_on_spots(ground, plants)
    taken = spread_over(
        ground.fact("hand_share_removed"),
        Luck(ground.house.seed, ground.house.members).normal("course.by hand"),
        least=0.0,
        most=1.0,
    )
    return Treatment(day=ground.case.today + NOON, kill_pest=taken * aphids, kill_mummies=taken * aphids)


def treatment_of_spots(ground: Ground, drawn: Treatment, plants: int) -> Treatment:
    """Return a treatment that meets so many of the worst plants alone."""
    return on_a_part(drawn, *met_on_spots(ground, plants))


def by_hand(ground: Ground, told_plants: int | None) -> Step:
    """Return what comes of squashing and bagging on the worst plants today."""
    case = ground.case
    plants = spot_plants(case, told_plants, ground.fact("spot_plants_share"))
    deed = deed_by_hand(ground, plants)
    minutes = ground.fact("hand_minutes_per_plant").value * plants
    labour = None if case.farm.labour_per_h is None else minutes / 60 * case.farm.labour_per_h
    return Step(
        "by hand",
        ground.fares(sprays=[deed]),
        labour or 0.0,
        labour=labour,
        minutes=minutes,
        unpriced=() if labour is not None else (LABOUR,),
        plants=plants,
        deeds=(deed,),
    )


def enrich(
    ground: Ground,
    offers: Sequence[Offer],
    *,
    sprays: Sequence[Treatment] = (),
    committed: Sequence[Release] | None = None,
    may: Callable[[Offer], bool] = lambda _: True,
) -> tuple[tuple[Offer, int], ...]:
    """Return the packs of one more delivery that serve best: least expected cost, else the cheapest that holds.

    Of every enemy that fits, the first delivery that may be let go is tried with more and more packs, each twice the
    one before, from the fewest to the most that are practised.
    """
    small = ground.house.some(SEARCH_MEMBERS)
    first: dict[Any, Offer] = {}
    for offer in sorted(offers, key=lambda item: item.day):
        if may(offer):
            first.setdefault((offer.pack, offer.enemy), offer)
    tried: list[tuple[float, float, float, Offer, int]] = []
    for offer in first.values():
        count = offer.least_packs
        while count == offer.least_packs or count * offer.units <= offer.most_units:
            fared = ground.fares(
                releases_of(small, [offer], [count]), sprays, committed, members=SEARCH_MEMBERS
            )
            spent = cost_of([offer], (count,)).total
            spent += ground.expected_loss(fared) or 0.0
            tried.append((spent, fared.chance_ever_above, float(fared.unit_days.mean()), offer, count))
            count *= 2
    if not tried:
        return ()
    if ground.loss_per_unit_day is None:
        held = [item for item in tried if item[1] <= ground.risk]
        least = min(days for _, _, days, _, _ in tried)
        tried = held or [item for item in tried if item[2] <= (1.0 + NEAR) * least]
    best = min(tried, key=lambda item: (item[0], item[1], item[2]))
    return ((best[3], best[4]),)


def enriched(ground: Ground, offers: Sequence[Offer]) -> Step:
    """Return what comes of one more delivery."""
    bought = enrich(ground, offers)
    if not bought:
        return Step("enrich", None, None, why_not=say(NO_DELIVERY))
    return _with_packs(ground, "enrich", bought)


def by_hand_and_enriched(ground: Ground, hands: Step, offers: Sequence[Offer]) -> Step:
    """Return what comes of hands today and of one more delivery."""
    key = "by hand, and enrich"
    bought = enrich(ground, offers, sprays=hands.deeds)
    if not bought:
        return Step(key, None, None, why_not=say(NO_DELIVERY))
    step = _with_packs(ground, key, bought, deeds=hands.deeds)
    labour = None if step.labour is None or hands.labour is None else step.labour + hands.labour
    return replace(
        step,
        money=None if step.money is None else step.money + (hands.labour or 0.0),
        labour=labour,
        minutes=step.minutes + hands.minutes,
        plants=hands.plants,
    )


def treated_spots(ground: Ground, figures: Figures, told_plants: int | None) -> Step:
    """Return what comes of treating the worst plants alone, this evening."""
    plants = spot_plants(ground.case, told_plants, ground.fact("spot_plants_share"))
    met = met_on_spots(ground, plants)
    done = considered(ground.case, figures, "spots", ground.house.members)
    return Step(
        "treat spots",
        ground.fares(sprays=[on_a_part(done.drawn, *met)]),
        figures.money,
        product=figures.money,
        unpriced=() if figures.money is not None else (TREATMENT,),
        spray=done,
        plants=plants,
        met=met,
    )


def sprayed(ground: Ground, figures: Figures) -> Step:
    """Return what comes of spraying the whole house this evening; what would meet it is not let go."""
    done = considered(ground.case, figures, "spray", ground.house.members)
    return Step(
        "spray",
        ground.fares(sprays=[done.drawn], committed=_kept(ground, done)),
        figures.money,
        product=figures.money,
        unpriced=() if figures.money is not None else (TREATMENT,),
        spray=done,
    )


def sprayed_then_released(ground: Ground, figures: Figures, offers: Sequence[Offer]) -> Step:
    """Return what comes of spraying and of letting go anew once the entered residue is over."""
    done = considered(ground.case, figures, "spray", ground.house.members)
    key = "spray, then release"
    if done.clocks.release.until is None:
        return Step(
            key,
            None,
            None,
            why_not=to_say("nobody entered for how long it harms enemies: no day for a release can be named"),
        )
    kept = _kept(ground, done)
    bought = enrich(
        ground,
        offers,
        sprays=[done.drawn],
        committed=kept,
        may=lambda offer: not done.meets(offer.day, ground.case),
    )
    if not bought:
        return Step(
            key, None, None, why_not=to_say("no delivery in the coming weeks comes after its residue")
        )
    return _with_packs(ground, key, bought, spray=done, committed=kept, product=figures.money)


def removed(ground: Ground, value_per_m2: float | None, work: float | None) -> Step:
    """Return what comes of clearing the crop: no aphids above the level on it, and no crop."""
    house = ground.house
    none = np.zeros((house.horizon_d + 1, house.members))
    nothing = Fate(
        above=none > 1,
        unit_days=none[0],
        ends_well=none[0] < 1,
        searching=none,
        in_mummies=none,
    )
    value = None if value_per_m2 is None else value_per_m2 * ground.case.model.area_m2
    missing = tuple(name for name, given in ((CROP, value), (CLEARING, work)) if given is None)
    return Step(
        "remove",
        nothing,
        None if value is None else value + (work or 0.0),
        product=value,
        labour=work,
        unpriced=missing,
    )


def _kept(ground: Ground, done: Considered) -> tuple[Release, ...]:
    return tuple(
        item for item in ground.house.committed if not done.meets(int(np.floor(item.day)), ground.case)
    )


def _with_packs(
    ground: Ground,
    key: str,
    bought: tuple[tuple[Offer, int], ...],
    *,
    spray: Considered | None = None,
    committed: Sequence[Release] | None = None,
    product: float | None = 0.0,
    deeds: Sequence[Treatment] = (),
) -> Step:
    offers, counts = [offer for offer, _ in bought], tuple(count for _, count in bought)
    cost = cost_of(offers, counts)
    case = ground.case
    minutes = case.facts.one("", "release_minutes_per_1000_m2").value * case.model.area_m2 / 1000
    labour = None if case.farm.labour_per_h is None else cost.labour
    missing = [name for name, given in ((LABOUR, labour), (TREATMENT, product)) if given is None]
    fared = ground.fares(
        releases_of(ground.house, offers, counts),
        [*deeds, *([] if spray is None else [spray.drawn])],
        committed,
    )
    return Step(
        key,
        fared,
        None if product is None else cost.packs + cost.freight + (labour or 0.0) + product,
        packs=cost.packs,
        freight=cost.freight,
        labour=labour,
        product=product,
        minutes=minutes,
        unpriced=tuple(missing),
        bought=bought,
        spray=spray,
        deeds=tuple(deeds),
    )
