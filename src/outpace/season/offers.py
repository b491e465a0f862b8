"""What can be bought for a house: packs on offer whose enemy fits it, by day of delivery."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from math import ceil

from outpace.estimation.lot_quality import lot_quality
from outpace.facts.table import Fact
from outpace.language import say
from outpace.planning.candidates import Candidate, rank
from outpace.planning.delivery_calendar import slots
from outpace.planning.offer import Offer
from outpace.planning.rule_of_thumb import highest_rate, lowest_rate
from outpace.season.case import HouseCase
from outpace.season.observed import ragged_holes
from outpace.season.released import stays
from outpace.season.sprayed import release_hold, sprays_of
from outpace.terms.enemies import Lot, Pack
from outpace.terms.tables import Snapshot

DELIVERIES_AHEAD_D = 24


def packs_in_force(snapshot: Snapshot, today: date) -> tuple[Pack, ...]:
    """Return the packs on offer, each at its latest price."""
    latest: dict[tuple[str, str, str, int], Pack] = {}
    for pack in snapshot.table(Pack):
        if pack.valid_from is not None and pack.valid_from > today:
            continue
        place = (pack.supplier, pack.enemy, pack.form, pack.pack_size)
        known = latest.get(place)
        if known is None or (pack.valid_from or date.min) >= (known.valid_from or date.min):
            latest[place] = pack
    return tuple(latest[place] for place in sorted(latest))


def candidates(case: HouseCase, packs: Sequence[Pack]) -> tuple[Candidate, ...]:
    """Return the enemies on offer, ranked for this house."""
    looked, ragged = ragged_holes(case.rows, case.now - timedelta(days=28))
    fewest = case.facts.one("", "ragged_holes_least", stage="speaks against wasps").value
    ahead = case.temperature.mean[case.today * 24 : (case.today + 14) * 24]
    return rank(
        case.facts,
        [pack.enemy for pack in packs],
        case.model.pests,
        mean_temperature=float(ahead.mean()),
        hottest=float(ahead.max()),
        ragged_share=ragged / looked if looked >= fewest else None,
    )


def use_of(case: HouseCase, mean_over_level: float) -> str:
    """Return which of the published uses a house is in: preventive, light or curative."""
    if not case.found:
        return "preventive"
    return "curative" if mean_over_level > 0.5 else "light"


def offers_for(
    case: HouseCase,
    packs: Sequence[Pack],
    fitting: Sequence[Candidate],
    *,
    use: str,
    floor: bool,
    members: int,
) -> tuple[tuple[Offer, ...], tuple[Fact, ...]]:
    """Return every pack and delivery worth planning with, and the facts they rest on.

    Parameters
    ----------
    floor : bool
        Whether no release may go below the lowest published rate for the use.
    """
    enemies = {item.enemy for item in fitting if item.fits}
    labour_per_h = case.farm.labour_per_h or 0.0
    minutes = case.facts.one("", "release_minutes_per_1000_m2")
    times_published = case.facts.one("", "release_most_times_published")
    unpublished = case.facts.one("", "release_most")
    hours = minutes.value / 60 * case.model.area_m2 / 1000
    used: list[Fact] = [minutes]
    now = case.now.replace(tzinfo=None)
    found: list[Offer] = []
    sprayed = sprays_of(case.snapshot, case.facts, case.farm, case.house)
    for pack in packs:
        if pack.enemy not in enemies or not stays(case.facts, pack.enemy, pack.form):
            continue
        quality = lot_quality(
            case.facts,
            Lot(
                lot=say(
                    "not seen {supplier} {enemy} {pack_size}",
                    supplier=pack.supplier,
                    enemy=pack.enemy,
                    pack_size=pack.pack_size,
                ),
                enemy=pack.enemy,
                form=pack.form,
                label_counts=pack.label_counts,
                labelled_number=pack.pack_size,
            ),
            (),
            members,
            case.seed,
        )
        used.extend(quality.facts)
        units = pack.pack_size * quality.units_per_label
        rate = lowest_rate(case.facts, pack.enemy, use) if floor else None
        least = max(1, ceil(rate * case.model.area_m2 / units - 1e-9)) if rate else 1
        highest = highest_rate(case.facts, pack.enemy)
        most = times_published.value * highest if highest is not None else unpublished.value
        used.append(times_published if highest is not None else unpublished)
        coming = slots(pack, now, case.day + timedelta(days=DELIVERIES_AHEAD_D))
        first_cutoff = min((slot.cutoff for slot in coming), default=datetime.max)
        found += [
            Offer(
                pack=pack,
                enemy=case.model.agents.index(pack.enemy),
                delivery=slot.delivery,
                day=int(case.day_of(slot.delivery)),
                cutoff=slot.cutoff,
                next_cutoff=slot.cutoff == first_cutoff,
                units=units,
                emergence=quality.emergence,
                share_female=quality.share_female,
                least_packs=least,
                most_units=most * case.model.area_m2,
                least_units=rate * case.model.area_m2 if rate else 0.0,
                labour=hours * labour_per_h,
                hours=hours,
            )
            for slot in coming
            if release_hold(sprayed, slot.delivery) is None
        ]
    return tuple(sorted(found, key=lambda o: (o.day, o.pack.price, o.pack.supplier))), tuple(used)
