"""A parcel that came late, hot or short: which house gets it now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.estimation.lot_quality import lot_quality
from outpace.facts.table import Fact, Facts, load, weakest
from outpace.language import say
from outpace.measures import temperature
from outpace.planning.course import Fate, fate
from outpace.planning.house_outlook import HouseOutlook
from outpace.season.case import HouseCase
from outpace.season.names import houses_of, pick_farm, zone_of_farm
from outpace.season.outlook import for_planning, outlook
from outpace.season.parcels import find_lot
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.words import percent, weekday
from outpace.simulation.model import Release as Let
from outpace.terms.enemies import Allocation, Check, Lot, OrderLine, Release
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

MEMBERS = 256
MOST_PARTS = 10
EVENING = 18 / 24


@dataclass
class _Place:
    """A house that may get some: how it fares with so many parts of the parcel."""

    case: HouseCase
    house: HouseOutlook
    levels: tuple[float, ...]
    area_m2: float
    part: float
    lot: Lot
    known: dict[int, Fate]

    def fares(self, parts: int) -> Fate:
        if parts not in self.known:
            self.known[parts] = fate(self.house, self.levels, releases=self._let_go(parts))
        return self.known[parts]

    def crop_days(self, parts: int) -> float:
        """Return the expected days above the level, by how far, times the area. [m² d]"""
        worst = max(self.levels)
        return self.area_m2 * float(self.fares(parts).unit_days.mean()) / max(worst, 1e-9)

    def _let_go(self, parts: int) -> tuple[Let, ...]:
        if not parts:
            return ()
        members = self.house.members
        quality = lot_quality(
            self.case.facts, self.lot, self.case.snapshot.table(Check), members, self.case.seed
        )
        share = self.house.model.plants / self.house.model.plants.sum()
        return tuple(
            Let(
                day=self.case.today + EVENING,
                enemy=self.house.model.agents.index(self.lot.enemy),
                zone=zone,
                number=parts * self.part * quality.units_per_label * float(share[zone]),
                form=self.lot.form,
                emergence=quality.emergence,
                share_female=quality.share_female,
            )
            for zone in range(len(share))
        )


def parcel_share(
    snapshot: Snapshot,
    lot: str,
    *,
    farm: str | None = None,
    number: int | None = None,
    facts: Facts | None = None,
) -> Answer:
    """Return which house gets how many of a lot today, as the answer ``outpace.share/1``.

    What the order meant for each house is forgotten; each part of the parcel goes where it spares most crop-days above
    the level, with the counts, sprays and warmth of today, and with what the lot's own check says of it.

    Parameters
    ----------
    number : int, optional
        How many are there to share; what is left of the lot where not told.

    Raises
    ------
    OutpaceError
        If nothing of the lot is left.
    """
    there, parcel = pick_farm(snapshot, farm), find_lot(snapshot, lot)
    gone = sum(row.number for row in snapshot.table(Release) if row.lot == parcel.lot)
    left = parcel.labelled_number - gone if number is None else number
    if left < 1:
        raise OutpaceError(
            say("nothing of lot {lot} is left", lot=parcel.lot),
            hint=say("add `--number N` if some is"),
            code=ExitCode.USAGE,
        )
    meant = _meant(snapshot, there, parcel)
    bare = _without(snapshot, parcel)
    places: dict[str, _Place] = {}
    rows: list[Answer] = []
    known = facts or load()
    least = known.one(parcel.enemy, "point_least_number")
    used: list[Fact] = [least]
    parts = max(1, min(MOST_PARTS, int(left // least.value)))
    for house in houses_of(snapshot, there):
        place, why = _place(bare, there, house, parcel, left / parts, facts, used)
        if place is None:
            rows.append(_row(house, meant, 0, None, why))
        else:
            places[house.house] = place
    given = _share(places, parts)
    for name, place in places.items():
        rows.append(_given(place, meant, given[name]))
    rows.sort(key=lambda row: (-row["number"], row["house"]))
    rest = left - sum(row["number"] for row in rows)
    if rows and rows[0]["number"] and rest and sum(given.values()) == parts:
        rows[0]["number"] += rest  # what rounding left
    now = snapshot.as_of.astimezone(zone_of_farm(there))
    return {
        "schema": "outpace.share/1",
        "as_of": now.isoformat(timespec="seconds"),
        "farm": there.farm,
        "lot": parcel.lot,
        "enemy": parcel.enemy,
        "form": parcel.form,
        "left": left,
        "sentence": _sentence(parcel, rows, str(now.date()), left),
        "houses": rows,
        "cautions": _cautions(snapshot, parcel, used, known),
        "evidence_weakest": weakest(used),
    }


def _meant(snapshot: Snapshot, farm: Farm, lot: Lot) -> dict[str, int]:
    found: dict[str, int] = {}
    for row in snapshot.table(Allocation):
        if lot.order is not None and (row.order, row.line, row.farm) == (lot.order, lot.line, farm.farm):
            found[row.house] = found.get(row.house, 0) + row.number
    return found


def _without(snapshot: Snapshot, lot: Lot) -> Snapshot:
    """Return the book as if the rest of the lot was meant for no house yet."""
    kept = tuple(
        row
        for row in snapshot.table(Allocation)
        if lot.order is None or (row.order, row.line) != (lot.order, lot.line)
    )
    return replace(
        snapshot, head=f"{snapshot.head} without {lot.lot}", rows={**snapshot.rows, "allocations": kept}
    )


def _place(
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    lot: Lot,
    part: float,
    facts: Facts | None,
    used: list[Fact],
) -> tuple[_Place | None, str]:
    found = outlook(snapshot, farm, house, facts=facts)
    case = found.case
    if case.rows.last is None:
        return None, say("no walk yet: walk it first")
    held = release_hold(sprays_of(snapshot, case.facts, farm, house), case.day)
    if held is not None:
        return None, held
    matches = [case.facts.find(lot.enemy, "host_match", other_species=pest) for pest in case.model.pests]
    used += [row for row in matches if row is not None]
    if not any(row is not None and row.value > 0 for row in matches):
        names = ", ".join(case.facts.species[pest].latin for pest in case.model.pests)
        return None, say("it does not accept {pests}", pests=names)
    if lot.enemy not in case.model.agents:
        return None, say("it cannot be reckoned with here: enter its price list first")
    return (
        _Place(
            case=case,
            house=for_planning(found).some(MEMBERS),
            levels=tuple(level.value for level in case.levels),
            area_m2=case.model.area_m2,
            part=part,
            lot=lot,
            known={},
        ),
        "",
    )


def _share(places: dict[str, _Place], parts: int) -> dict[str, int]:
    """Return how many parts each house gets: each part where it spares most, or the most per part of several."""
    given = dict.fromkeys(places, 0)
    if not places:
        return given
    left = parts
    while left:
        best: tuple[float, int, str] | None = None
        for name, place in places.items():
            now = place.crop_days(given[name])
            for more in dict.fromkeys((1, max(1, left // 2), left)):
                gain = (now - place.crop_days(given[name] + more)) / more
                if best is None or gain > best[0] + 1e-12:
                    best = (gain, more, name)
        assert best is not None
        if best[0] <= 0:
            break
        given[best[2]] += best[1]
        left -= best[1]
    return given


def _row(
    house: House, meant: dict[str, int], number: int, chances: tuple[float, float] | None, why: str
) -> Answer:
    return {
        "house": house.house,
        "meant": meant.get(house.house, 0),
        "number": number,
        "chance_without": None if chances is None else round(chances[0], 3),
        "chance_with": None if chances is None else round(chances[1], 3),
        "why": why,
    }


def _given(place: _Place, meant: dict[str, int], parts: int) -> Answer:
    without, with_it = place.fares(0).chance_ever_above, place.fares(parts).chance_ever_above
    number = round(parts * place.part)
    if parts:
        why = say(
            "chance above your level {without} without it, {after} with it",
            without=percent(without),
            after=percent(with_it),
        )
    else:
        why = say(
            "it would spare less here than elsewhere: {without} chance above your level without it",
            without=percent(without),
        )
    return _row(place.case.house, meant, number, (without, with_it), why)


def _sentence(lot: Lot, rows: Sequence[Answer], today: str, left: int) -> str:
    first = rows[0] if rows and rows[0]["number"] else None
    if first is None:
        return say(
            "Release none of lot {lot} for the forecast's sake on {day}: 0 of {left} would spare anything.",
            lot=lot.lot,
            day=weekday(today),
            left=left,
        )
    return say(
        "Release {number} of lot {lot} in {house} on {day}.",
        number=first["number"],
        lot=lot.lot,
        house=first["house"],
        day=weekday(today),
    )


def _cautions(snapshot: Snapshot, lot: Lot, used: list[Fact], facts: Facts) -> list[str]:
    told = []
    line = next(
        (row for row in snapshot.table(OrderLine) if (row.order, row.line) == (lot.order, lot.line)), None
    )
    if line is not None and lot.arrived is not None:
        late = (lot.arrived.date() - line.delivery_date).days
        if late > 0:
            told.append(
                say("It came {n} days late: the counts of today decide, not those of the order.", n=late)
            )
    hot = facts.one(lot.enemy, "activity_high_temperature")
    if lot.parcel_degc is not None and lot.parcel_degc >= hot.value:
        used.append(hot)
        told.append(
            say(
                "{warmth} in the parcel: many may be dead. Count the check pot before you trust the number.",
                warmth=temperature(lot.parcel_degc, 0),
            )
        )
    checked = any(row.lot == lot.lot for row in snapshot.table(Check))
    if not checked:
        told.append(say("The lot is not checked yet: what emerges is drawn from the books."))
    told.append(say("Release this evening or at dawn; what nobody needs goes to spots and doors."))
    return told
