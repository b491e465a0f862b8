"""Parcels, releases and placed orders, as rows of the book."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.facts import table as facts_table
from outpace.language import say, say_many
from outpace.records.store import Book
from outpace.season.enter import Entered, key_from, plain_name
from outpace.season.moments import day, moment
from outpace.season.names import pick_farm, pick_house, zone_of_farm
from outpace.season.recorded import record
from outpace.season.release_warnings import release_warnings
from outpace.terms.enemies import Allocation, Lot, OrderLine, Release
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot


def arrival_from_words(
    snapshot: Snapshot,
    lot: str,
    enemy: str,
    told: Mapping[str, Any],
    *,
    packed: str | None = None,
    arrived: str | None = None,
    farm: str | None = None,
) -> Entered:
    """Return the lot that a person says has arrived."""
    zone = zone_of_farm(pick_farm(snapshot, farm))
    row = Lot(
        lot=plain_name(lot, "lot"),
        enemy=facts_table.load().resolve(enemy, "enemy"),
        arrived=moment(arrived, zone, where="`--on`"),
        packed=day(packed, where="`--packed`") if packed else None,
        **told,
    )
    return Entered(
        [row],
        say(
            "Lot {lot}: {labelled_number:,} {enemy} as {form}, arrived {arrived:%Y-%m-%d}.",
            lot=row.lot,
            labelled_number=row.labelled_number,
            enemy=_latin(row.enemy),
            form=row.form,
            arrived=row.arrived,
        ),
        (*_label_caution(row), *_at_the_door(snapshot, row)),
    )


def _at_the_door(snapshot: Snapshot, lot: Lot) -> tuple[str, ...]:
    """Return what to mind while the parcel is still on the bench, what keeps people well first."""
    told = [
        say(
            "Open it in moving air, with gloves, and a dust mask for loose carrier; stop at a wheeze or a "
            "rash. Plastic pots, no glass; no sample in a food fridge"
        )
    ]
    if lot.packed is None:
        told.append(say("No packing date told: the life of a parcel counts from there"))
    line = next(
        (row for row in snapshot.table(OrderLine) if (row.order, row.line) == (lot.order, lot.line)), None
    )
    if lot.order is not None and line is None:
        told.append(say("No order {order} with line {line} is in the book", order=lot.order, line=lot.line))
    if line is not None and lot.labelled_number < line.packs * line.pack_size:
        short = line.packs * line.pack_size - lot.labelled_number
        told.append(
            say("{short:,} short of the order: tell the supplier, then run `outpace plan` again", short=short)
        )
    if line is not None and line.enemy != lot.enemy:
        told.append(
            say(
                "{enemy} was ordered: does {enemy2} take your aphid?",
                enemy=_latin(line.enemy),
                enemy2=_latin(lot.enemy),
            )
        )
    if lot.form in ("mummies", "pupae", "eggs"):
        told.append(
            say(
                "Set a pot aside in the house it is for: `outpace arrival show {lot!r}` says how many and "
                "until when",
                lot=lot.lot,
            )
        )
    else:
        told.append(
            say(
                "Count the living of a few today: `outpace arrival check {lot!r} --looked-at N --alive M`",
                lot=lot.lot,
            )
        )
    return tuple(told)


def _label_caution(lot: Lot) -> tuple[str, ...]:
    if lot.label_counts != "unknown":
        return ()
    return (
        say(
            "Does the label count units in the pack or adults expected? Until it is told with "
            "`--label-counts`, both are reckoned with and the band is wider."
        ),
    )


def _latin(key: str) -> str:
    return facts_table.load().species[key].latin


def find_lot(snapshot: Snapshot, lot: str) -> Lot:
    """Return the lot of that name.

    Raises
    ------
    OutpaceError
        If no parcel of that lot was recorded.
    """
    lots = {item.lot: item for item in snapshot.table(Lot)}
    for name, item in lots.items():
        if name.casefold() == lot.strip().casefold():
            return item
    known = ", ".join(list(lots)[-8:])
    raise OutpaceError(
        say("no lot called {lot!r}", lot=lot),
        allowed=say("known: {known}", known=known) if known else say("no lot has been recorded yet"),
        hint=say("record the parcel first with `outpace arrival LOT`, or give `--enemy` and `--form` here"),
        code=ExitCode.USAGE,
    )


def release_from_words(
    snapshot: Snapshot,
    house: str,
    *,
    lot: str | None,
    enemy: str | None,
    form: str | None,
    label_counts: str,
    number: int,
    on: str | None = None,
    farm: str | None = None,
    zone: str | None = None,
    points: int | None = None,
    canopy_degc: float | None = None,
    person: str | None = None,
    minutes: float | None = None,
    correct: bool = False,
) -> Entered:
    """Return the release that a person tells, with a lot of its own where none was named.

    A correction takes the place of the one release of that lot in that house on that day.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    time = moment(on, zone_of_farm(there), where="`--on`")
    rows: list[Any] = []
    replaced: Release | None = None
    cautions: tuple[str, ...] = ()
    if lot is not None:
        parcel = find_lot(snapshot, lot)
        if enemy is not None and facts_table.load().resolve(enemy, "enemy") != parcel.enemy:
            raise OutpaceError(
                say(
                    "lot {lot} is {enemy}, not {enemy2}",
                    lot=parcel.lot,
                    enemy=_latin(parcel.enemy),
                    enemy2=enemy,
                ),
                hint=say("leave out `--enemy`, or name the right lot"),
                code=ExitCode.USAGE,
            )
        replaced = _same_day(snapshot, there, place.house, zone, parcel, time) if correct else None
        before = replaced.number if replaced is not None else 0
        cautions = _more_than_arrived(snapshot, parcel, number - before)
    else:
        parcel = Lot(
            lot=key_from(place.house, there.farm, time.astimezone(UTC).isoformat(), enemy, form),
            enemy=facts_table.load().resolve(str(enemy), "enemy"),
            form=str(form),
            label_counts=label_counts,
            labelled_number=number,
            note="noted with its release",
        )
        rows.append(parcel)
        cautions = _label_caution(parcel)
    key = key_from(place.house, there.farm, parcel.lot, time.astimezone(UTC).isoformat(), zone, number)
    release = Release(
        release=replaced.release if replaced is not None else key,
        farm=there.farm,
        house=place.house,
        zone=zone,
        time=time,
        lot=parcel.lot,
        number=number,
        points=points,
        canopy_degc=canopy_degc,
        person=person,
        minutes=minutes,
    )
    sentence = say(
        "{house}: {number:,} {enemy} released as {form} on {time:%Y-%m-%d}.",
        house=place.house,
        number=number,
        enemy=_latin(parcel.enemy),
        form=parcel.form,
        time=time,
    )
    minded = release_warnings(snapshot, there, place, parcel, time, zone=zone, canopy_degc=canopy_degc)
    return Entered([*rows, release], sentence, (*cautions, *minded))


def _more_than_arrived(snapshot: Snapshot, lot: Lot, number: int) -> tuple[str, ...]:
    gone = sum(release.number for release in snapshot.table(Release) if release.lot == lot.lot)
    if gone + number <= lot.labelled_number:
        return ()
    return (
        say(
            "With this, {gone:,} were released from lot {lot}, whose labels say {labelled_number:,}.",
            gone=gone + number,
            lot=lot.lot,
            labelled_number=lot.labelled_number,
        ),
    )


def placed_orders(
    snapshot: Snapshot, answer: Mapping[str, Any], *, farm: str | None = None, now: datetime | None = None
) -> list[OrderLine | Allocation]:
    """Return the lines and allocations of an order answer as placed now; provisional orders are left out.

    Raises
    ------
    OutpaceError
        If nothing is due, or if a cut-off has passed.
    """
    there = pick_farm(snapshot, farm)
    moment = (now or datetime.now(UTC)).replace(microsecond=0)
    known = {line.order for line in snapshot.table(OrderLine) if line.status in ("placed", "arrived")}
    rows: list[OrderLine | Allocation] = []
    again = False
    for order in answer["orders"]:
        if order["provisional"]:
            continue
        cutoff = datetime.fromisoformat(order["cutoff"])
        if cutoff.tzinfo is None:  # written by the clock on the farm's wall
            cutoff = cutoff.replace(tzinfo=zone_of_farm(there))
        if cutoff < moment:
            raise OutpaceError(
                say(
                    "the cut-off of {supplier} was {cutoff}",
                    supplier=order["supplier"],
                    cutoff=order["cutoff"],
                ),
                hint=say("run `outpace plan` again for the next delivery"),
            )
        new = _order_rows(there, order, moment)
        if new[0].order in known:
            again = True
        else:
            rows += new
    if again and not rows:
        raise OutpaceError(say("this order is recorded as placed already"), hint=say("nothing more to do"))
    if not rows:
        raise OutpaceError(say("no order is due before the next cut-off"), hint=say("see `outpace plan`"))
    return rows


def place_orders(
    book: Book, snapshot: Snapshot, answer: Mapping[str, Any], *, by: str, farm: str | None = None
) -> dict[str, Any]:
    """Write the orders of an order answer that are due down as placed, and return what is to be sent.

    Raises
    ------
    OutpaceError
        If nothing is due, or if a cut-off has passed.
    """
    rows = placed_orders(snapshot, answer, farm=farm)
    placed = {(row.supplier, row.delivery_date) for row in rows if isinstance(row, OrderLine)}
    messages = [
        {"supplier": order["supplier"], "cutoff": order["cutoff"], "text": order["text"]}
        for order in answer["orders"]
        if not order["provisional"]
        and (order["supplier"], date.fromisoformat(order["delivery_date"])) in placed
    ]
    entered = Entered(
        list(rows),
        say_many(
            "{n} order is written down as placed: send its message now.",
            "{n} orders are written down as placed: send their messages now.",
            len(messages),
        ),
        (say("Nothing was sent from here: the supplier knows of it when your message is there."),),
    )
    return {**record(book, entered, by=by), "messages": messages}


def _same_day(
    snapshot: Snapshot, farm: Farm, house: str, zone: str | None, lot: Lot, time: datetime
) -> Release | None:
    """Return the release of a lot in a house on a day, where there is exactly one."""
    found = [
        row
        for row in snapshot.table(Release)
        if (row.farm, row.house, row.zone, row.lot) == (farm.farm, house, zone, lot.lot)
        and row.time.astimezone(time.tzinfo).date() == time.date()
    ]
    return found[0] if len(found) == 1 else None


def _order_rows(farm: Farm, order: Mapping[str, Any], moment: datetime) -> list[OrderLine | Allocation]:
    delivery = date.fromisoformat(order["delivery_date"])
    # The same supplier, delivery and lines make the same order: placing it twice is seen as one.
    content = [(line["enemy"], line["form"], line["pack_size"], line["packs"]) for line in order["lines"]]
    name = key_from(order["supplier"], farm.farm, delivery.isoformat(), content)
    rows: list[OrderLine | Allocation] = []
    for number, line in enumerate(order["lines"], 1):
        rows.append(
            OrderLine(
                order=name,
                line=number,
                farm=farm.farm,
                placed=moment,
                supplier=order["supplier"],
                enemy=line["enemy"],
                form=line["form"],
                packs=line["packs"],
                pack_size=line["pack_size"],
                delivery_date=delivery,
                status="placed",
                unit_price=line.get("unit_price"),
                freight=order.get("freight") if number == 1 else None,
            )
        )
        rows += [
            Allocation(
                order=name,
                line=number,
                farm=farm.farm,
                house=place["house"],
                zone=place.get("zone"),
                release_date=date.fromisoformat(place["release_date"]),
                number=round(place["number"]),
            )
            for place in line["houses"]
        ]
    return rows
