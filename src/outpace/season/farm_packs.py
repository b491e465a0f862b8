"""The packs of all houses of a farm together: shared where that is cheaper, and the rows that say who gets what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil
from typing import Any

from outpace.language import long_date, say
from outpace.planning.goods import Arrival, Goods, Need, below_least_packs, cost_of_packs
from outpace.planning.least_numbers import chance_of, least_numbers
from outpace.planning.pooling import Pooled, pool
from outpace.planning.release_plan import HousePlan, Offer
from outpace.season.outlook import Outlook
from outpace.season.words import percent

Answer = dict[str, Any]
Place = tuple[Goods, date]

WORTH_SHARING = 0.005  # less money than this is rounding


@dataclass(frozen=True)
class Planned:
    """A house whose plan holds it, and the risk the plan had to meet."""

    found: Outlook
    done: HousePlan
    risk: float

    @property
    def name(self) -> str:
        """Return the name of the house."""
        return self.found.case.house.house


@dataclass(frozen=True)
class FarmPacks:
    """What the packs of a farm cost, the rows of the decisions, and the chance of each house with what it is given."""

    rows: tuple[Answer, ...]
    goods: float
    freight: float
    chances: dict[str, float]
    cautions: tuple[str, ...]


def farm_packs(planned: Sequence[Planned], horizon_d: int) -> FarmPacks:
    """Return the packs of a farm: each house its own, or shared where it costs less or an order would be too small.

    Every house is given at least the animals that hold it; where parts of packs do not, it keeps its whole ones.
    """
    bought = _bought(planned)
    apart = cost_of_packs(list(bought), list(bought.values()))
    too_small = below_least_packs(list(bought), list(bought.values()))
    needs = {item.name: _needs(item) for item in planned} if len(planned) > 1 or too_small else {}
    while needs:
        pooled = pool([need for parts in needs.values() for need in parts], _offered(planned))
        if pooled.unmet or (not too_small and pooled.total >= sum(apart) - WORTH_SHARING):
            break
        chances = {item.name: chance_of(item.done, _parts(item, pooled)) for item in planned}
        short = [
            item for item in planned if chances[item.name] > item.risk and not _is_whole(needs[item.name])
        ]
        if not short:
            return _shared(planned, pooled, chances, sum(apart), horizon_d)
        needs.update(
            (item.name, [replace(n, number=n.most or n.number) for n in needs[item.name]]) for item in short
        )
    rows = [
        _row(item, offer, count, item.done.chance_above, horizon_d)
        for item in planned
        for offer, count in zip(item.done.offers, item.done.counts, strict=True)
        if count
    ]
    chances = {item.name: item.done.chance_above for item in planned}
    return FarmPacks(tuple(rows), *apart, chances, ())


def _bought(planned: Sequence[Planned]) -> dict[Arrival, int]:
    bought: dict[Arrival, int] = defaultdict(int)
    for item in planned:
        for offer, count in zip(item.done.offers, item.done.counts, strict=True):
            if count:
                bought[_arrival(offer)] += count
    return bought


def _offered(planned: Sequence[Planned]) -> tuple[Arrival, ...]:
    return tuple(dict.fromkeys(_arrival(offer) for item in planned for offer in item.done.offers))


def _arrival(offer: Offer) -> Arrival:
    return Arrival(pack=offer.pack, delivery=offer.delivery, cutoff=offer.cutoff)


def _needs(item: Planned) -> list[Need]:
    """Return the least numbers of a house by goods and day, and the whole packs it may have instead."""
    least: dict[Place, float] = defaultdict(float)
    whole = _whole(item.done)
    for offer, packs in zip(item.done.offers, least_numbers(item.done, item.risk), strict=True):
        if packs:
            least[_arrival(offer).goods, offer.delivery] += packs * offer.pack.pack_size
    return [
        Need(
            day=day,
            house=item.name,
            enemy=goods[0],
            form=goods[1],
            label_counts=goods[2],
            number=min(ceil(number - 1e-9), whole[goods, day]),
            most=whole[goods, day],
        )
        for (goods, day), number in least.items()
    ]


def _whole(done: HousePlan) -> dict[Place, int]:
    whole: dict[Place, int] = defaultdict(int)
    for offer, count in zip(done.offers, done.counts, strict=True):
        if count:
            whole[_arrival(offer).goods, offer.delivery] += count * offer.pack.pack_size
    return whole


def _is_whole(needs: Sequence[Need]) -> bool:
    return all(need.number == need.most for need in needs)


def _parts(item: Planned, pooled: Pooled) -> tuple[float, ...]:
    """Return the packs and parts of packs of each of the house's offers that its shares come to."""
    given: dict[Place, int] = defaultdict(int)
    for share in pooled.shares:
        if share.house == item.name:
            given[share.arrival.goods, share.release] += share.number
    whole = _whole(item.done)
    places = [(_arrival(offer).goods, offer.delivery) for offer in item.done.offers]
    return tuple(
        count * given[place] / whole[place] if count else 0.0
        for place, count in zip(places, item.done.counts, strict=True)
    )


def _shared(
    planned: Sequence[Planned], pooled: Pooled, chances: dict[str, float], apart: float, horizon_d: int
) -> FarmPacks:
    offers = {_arrival(offer): offer for item in planned for offer in item.done.offers}
    items = {item.name: item for item in planned}
    takers: dict[Arrival, set[str]] = defaultdict(set)
    for share in pooled.shares:
        takers[share.arrival].add(share.house)
    rows: list[Answer] = []
    for share in pooled.shares:
        pack = share.arrival.pack
        row = _row(items[share.house], offers[share.arrival], share.draws_on, chances[share.house], horizon_d)
        row["number"] = share.number
        row["release_date"] = str(share.release)
        row["opened"] = share.opens
        row["price"] = round(share.opens * pack.price, 2)
        others = sorted(takers[share.arrival] - {share.house})
        if share.number < share.draws_on * pack.pack_size and others:
            row["why"] += say("; packs shared with {others}", others=", ".join(others))
        rows.append(row)
    goods, freight = cost_of_packs(
        [line.arrival for line in pooled.lines], [line.packs for line in pooled.lines]
    )
    saved = apart - goods - freight
    currency = planned[0].found.case.farm.currency
    cautions = [
        say(
            "Packs are shared between houses: {saved:.2f} {currency} less than packs for each",
            saved=saved,
            currency=currency,
        )
    ] * (saved > 0)
    cautions += [
        say(
            "{leftover} of the {packs} labelled animals of {latin} that come on {delivery} are over: let "
            "them go where the aphids are",
            leftover=line.leftover,
            packs=line.packs * line.arrival.pack.pack_size,
            latin=planned[0].found.case.facts.species[line.arrival.pack.enemy].latin,
            delivery=long_date(line.arrival.delivery),
        )
        for line in pooled.lines
        if line.leftover
    ]
    return FarmPacks(tuple(rows), goods, freight, chances, tuple(cautions))


def _row(item: Planned, offer: Offer, packs: int, chance: float, horizon_d: int) -> Answer:
    case = item.found.case
    return {
        "house": item.name,
        "zone": case.zones[0] if len(case.zones) == 1 else "all zones",
        "enemy": offer.pack.enemy,
        "supplier": offer.pack.supplier,
        "form": offer.pack.form,
        "delivery_date": str(offer.delivery),
        "release_date": str(offer.delivery),
        "cutoff": offer.cutoff.isoformat(timespec="minutes"),
        "packs": packs,
        "pack_size": offer.pack.pack_size,
        "number": packs * offer.pack.pack_size,
        "price": round(packs * offer.pack.price, 2),
        "provisional": item.found.stale or not offer.next_cutoff,
        "why": say(
            "chance above your level in the next {horizon_d} days {chance_if_nothing} without, {chance} "
            "with the plan",
            horizon_d=horizon_d,
            chance_if_nothing=percent(item.done.chance_if_nothing),
            chance=percent(chance),
        ),
    }
