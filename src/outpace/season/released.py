"""What was let go in a house and what is on its way, as the simulation reads it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from outpace.estimation.lot_checks import RIPENS, counted, finished
from outpace.estimation.lot_quality import lot_quality
from outpace.estimation.lot_storage import kept_after, stored_days
from outpace.facts.table import Fact, Facts
from outpace.language import say
from outpace.season.indexed import of_house
from outpace.simulation.model import Release as Let
from outpace.simulation.model import Spray as Treated
from outpace.terms.enemies import Allocation, Check, Lot, OrderLine, Release
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

EVENING = 18 / 24


WORTH_TELLING_D = 1.0
"""Days of storage beyond what costs nothing from which a forecast says so."""


@dataclass(frozen=True)
class OnTheWay:
    """Animals of one order line that are meant for this house and not released yet."""

    line: OrderLine
    number: int
    release_date: Any
    zone: str | None = None


@dataclass(frozen=True)
class LetGo:
    """Past releases and placed orders of one house.

    ``releases`` are for the simulation, members in the order of the seed; ``told`` the rows for charts and sheets.
    """

    releases: tuple[Let, ...]
    told: tuple[dict[str, Any], ...]
    coming: tuple[OnTheWay, ...]
    facts: tuple[Fact, ...]
    cautions: tuple[str, ...]


def enemies_let_go(snapshot: Snapshot, farm: Farm, house: House) -> tuple[str, ...]:
    """Return the enemies released in the house or ordered for it."""
    lots = {lot.lot: lot for lot in snapshot.table(Lot)}
    found = [lots[row.lot].enemy for row in of_house(snapshot, Release, farm, house) if row.lot in lots]
    found += [item.line.enemy for item in on_the_way(snapshot, farm, house)]
    return tuple(dict.fromkeys(found))


def stays(facts: Facts, enemy: str, form: str) -> bool:
    """Return whether what is let go in this form does something here: adult lacewings and ladybirds fly off."""
    return form != "adults" or facts.species[enemy].guild in ("wasp", "midge")


def on_the_way(snapshot: Snapshot, farm: Farm, house: House) -> tuple[OnTheWay, ...]:
    """Return what is ordered or arrived for the house and not released: planned lines are left out."""
    lines = {
        (row.order, row.line): row
        for row in snapshot.table(OrderLine)
        if row.farm == farm.farm and row.status in ("placed", "arrived")
    }
    of_line = {lot.lot: (lot.order, lot.line) for lot in snapshot.table(Lot)}
    arrived: dict[tuple[str | None, int | None], int] = {}
    for lot in snapshot.table(Lot):
        arrived[lot.order, lot.line] = arrived.get((lot.order, lot.line), 0) + lot.labelled_number
    done: dict[tuple[str | None, int | None, str | None], int] = {}
    for row in of_house(snapshot, Release, farm, house):
        if row.lot in of_line:
            place = (*of_line[row.lot], row.zone)
            done[place] = done.get(place, 0) + row.number
    mine = of_house(snapshot, Allocation, farm, house)
    zones_meant: dict[tuple[str, int], set[str | None]] = defaultdict(set)
    for part in mine:
        zones_meant[part.order, part.line].add(part.zone)
    places_of: dict[tuple[str | None, int | None], list[tuple[str | None, int | None, str | None]]] = (
        defaultdict(list)
    )
    for place in done:
        places_of[place[:2]].append(place)
    found = []
    for part in mine:
        line = lines.get((part.order, part.line))
        if line is None:
            continue
        # A parcel that came short is shared out as it was ordered: what did not come is on no way.
        came = arrived.get((part.order, part.line))
        meant = part.number if came is None else part.number * min(came / (line.packs * line.pack_size), 1.0)
        left = round(meant)
        # What was let go in the zone it was meant for counts there first, what went elsewhere wherever it is missing.
        meant_zones = zones_meant[part.order, part.line]
        for place in places_of[part.order, part.line]:
            if place[2] == part.zone or place[2] not in meant_zones:
                used = min(left, done[place])
                done[place] -= used
                left -= used
        if left > 0:
            found.append(OnTheWay(line, left, part.release_date, part.zone))
    return tuple(sorted(found, key=lambda item: item.release_date))


def let_go(
    snapshot: Snapshot,
    facts: Facts,
    farm: Farm,
    house: House,
    *,
    enemies: Sequence[str],
    zones: Sequence[str],
    shares: Sequence[float],
    day_of: Any,
    today: int,
    members: int,
    seed: int,
) -> LetGo:
    """Return the releases of a house for the simulation, and their rows for people.

    Parameters
    ----------
    enemies, zones : sequence of str
        In the order of the model; ``shares`` is each zone's share of the plants.
    day_of : callable
        Day since day 0 of a moment or date.
    today : int
        Day index of today; what is on its way is not released before.
    """
    known_lots = snapshot.table(Lot)
    lots = {lot.lot: lot for lot in known_lots}
    checks = snapshot.table(Check)
    releases: list[Let] = []
    told: list[dict[str, Any]] = []
    used: list[Fact] = []
    cautions: list[str] = []

    def add(
        day: float, enemy: str, zone: str | None, number: float, lot: Lot, form: str, note: str, when: Any
    ) -> None:
        told.append(
            {
                "date": str(when),
                "enemy": enemy,
                "number": int(number),
                "zone": zone,
                "form": form,
                "note": note,
            }
        )
        if enemy not in enemies or not stays(facts, enemy, form):
            return
        quality = lot_quality(facts, lot, checks, members, seed, lots=known_lots)
        used.extend(quality.facts)
        if quality.unknown_label:
            cautions.append(
                say(
                    "Lot {lot}: ask what its label counts, units in the pack or adults to be expected; "
                    "until then both are drawn",
                    lot=lot.lot,
                )
            )
        kept = kept_after(facts, lot, stored_days(lot, when), members, seed)
        used.extend(kept.facts)
        if kept.days >= WORTH_TELLING_D:
            cautions.append(
                say(
                    "Lot {lot} was let go {days:.0f} days later than parcels keep without loss: the "
                    "forecast counts on "
                    "fewer wasps of it, and a pot kept by tells how many",
                    lot=lot.lot, days=kept.days,
                )
            )  # fmt: skip
        # A check of the lot has met the store as well; the life of those that come out it does not show.
        left = kept.life if quality.checked else kept.life * kept.emergence
        places = [zones.index(zone)] if zone in zones else range(len(zones))
        for place in places:
            part = 1.0 if zone in zones else shares[place]
            releases.append(
                Let(
                    day=day,
                    enemy=list(enemies).index(enemy),
                    zone=place,
                    number=number * part * quality.units_per_label,
                    form=form,
                    emergence=quality.emergence * left,
                    share_female=quality.share_female,
                )
            )

    for row in sorted(of_house(snapshot, Release, farm, house), key=lambda item: item.time):
        if row.lot in lots:
            lot = lots[row.lot]
            day = day_of(row.time)
            if day >= 0:
                when = row.time.date()
                add(day, lot.enemy, row.zone, row.number, lot, lot.form, _checked(facts, lot, checks), when)
    coming = on_the_way(snapshot, farm, house)
    for item in coming:
        lot = Lot(
            lot=f"{item.line.order}-{item.line.line}",
            enemy=item.line.enemy,
            form=item.line.form,
            label_counts="units_in_pack",
            labelled_number=item.number,
        )
        day = max(float(day_of(item.release_date)), float(today)) + EVENING
        add(
            day,
            item.line.enemy,
            item.zone,
            item.number,
            lot,
            item.line.form,
            say("on its way"),
            item.release_date,
        )
    return LetGo(tuple(releases), tuple(told), coming, tuple(used), tuple(dict.fromkeys(cautions)))


def treated(
    snapshot: Snapshot,
    facts: Facts,
    farm: Farm,
    house: House,
    zones: Sequence[str],
    day_of: Any,
    members: int,
    seed: int,
) -> tuple[tuple[Treated, ...], tuple[str, ...]]:
    """Return the sprays of a house for the simulation, and what must be said of figures that were not entered.

    A figure that was not entered is drawn evenly over all it could be: kill from none to all, residue from none to the
    whole of the first day over up to the longest that is practised. It is never taken as zero. What dies inside mummies
    is never entered: it is drawn from none to as many as of the adults, for a mummy protects.
    """
    longest = facts.one("", "residue_longest").value
    found: list[Treated] = []
    cautions: list[str] = []
    for row in sorted(of_house(snapshot, Spray, farm, house), key=lambda item: item.start):
        day = day_of(row.start)
        if day < 0:
            continue
        rng = np.random.Generator(np.random.Philox(key=[seed, int(row.start.timestamp())]))
        even = rng.random((4, members))
        kill_enemy = row.kill_enemy_share if row.kill_enemy_share is not None else even[1]
        unknown = [
            name
            for name, value in (
                (say("kill of aphids"), row.kill_pest_share),
                (say("kill of enemies"), row.kill_enemy_share),
                (say("what its residue kills"), row.residual_enemy_share),
                (say("how long its residue lasts"), 0.0 if row.residual_enemy_share == 0 else row.residual_d),
            )
            if value is None
        ]
        if unknown:
            cautions.append(
                say(
                    "Spray of {start:%d %B}: {unknown} not entered; the forecast is wider for it, and no "
                    "release until the label or the supplier has said when",
                    start=row.start,
                    unknown=", ".join(unknown),
                )
            )
        found.append(
            Treated(
                day=day,
                zone=zones.index(row.zone) if row.zone in zones else None,
                kill_pest=row.kill_pest_share if row.kill_pest_share is not None else even[0],
                kill_enemy=kill_enemy,
                kill_mummies=kill_enemy * rng.random(members),
                residual_enemy=row.residual_enemy_share if row.residual_enemy_share is not None else even[2],
                residual_d=row.residual_d if row.residual_d is not None else longest * even[3],
            )
        )
    return tuple(found), tuple(cautions)


def _checked(facts: Facts, lot: Lot, checks: Sequence[Check]) -> str:
    out, looked = counted(finished(facts, lot, checks, RIPENS))
    if looked:
        return say("{out} of {looked} emerged in the check", out=out, looked=looked)
    if any(check.lot == lot.lot and check.kind in RIPENS for check in checks):
        return say("emergence looked at before the check had ended")
    return say("emergence not checked")
