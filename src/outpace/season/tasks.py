"""This week's tasks of one house: a day, a deed, minutes, and why."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from math import ceil
from typing import Any

from outpace.estimation.lot_checks import RIPENS, finished
from outpace.language import listed, say, say_many
from outpace.planning.check_days import check_ends
from outpace.season.bankers import bankers_answer
from outpace.season.case import HouseCase
from outpace.season.observed import ragged_holes
from outpace.season.outlook import Outlook
from outpace.season.rhythm import WALK_EVERY_D
from outpace.season.season_edges import checked, due_within, edge_tasks
from outpace.season.sprayed import release_hold, spray_deeds, sprays_of
from outpace.season.words import weekday
from outpace.terms.enemies import Check, Lot, Release

Task = dict[str, Any]

PLANTS = 20
REOPEN_PLANTS = 10
CHECK_LATE_D = 7
"""So long after its last day a pot is still asked for."""
BANKER_MINUTES = 30
"""Written beside a task of banker plants: the low end of what the trade tells for a week's upkeep."""
EDGE_MINUTES = 30
"""Written beside a task of the season's edges: nobody has measured them."""


def house_tasks(found: Outlook, four_fold_d: int, first_look: dict[str, Any] | None) -> list[Task]:
    """Return the tasks of the seven days from today and the next walk, the earliest first.

    Parameters
    ----------
    four_fold_d : int
        Days in which the aphid could grow four-fold.
    first_look : dict, optional
        Earliest and latest day on which mummies of the last release can show.
    """
    case = found.case
    tasks = [
        *_walk(found, four_fold_d),
        *_parcels(case),
        *_checks(case),
        *_mummies(case, first_look),
        *_holes(case),
        *_sprays(case),
        *_bankers(case),
        *_edges(case),
    ]
    end = case.day + timedelta(days=7)
    return sorted(
        (task for task in tasks if task["day"] < str(end) or task["kind"] == "walk"),
        key=lambda task: (task["day"], task["kind"]),
    )


def task(day: date, kind: str, what: str, minutes: float, why: str) -> Task:
    """Return one task as it stands in an answer."""
    return {"day": str(day), "kind": kind, "what": what, "minutes": ceil(minutes / 5) * 5, "why": why}


def walk_minutes(case: HouseCase, plants: int) -> float:
    """Return how long a walk takes, by the published minutes per area, never less than a quarter minute a plant."""
    per_100_m2 = case.facts.one("", "walk_minutes_per_100_m2").value
    return float(min(per_100_m2 * case.model.area_m2 / 100, 90.0, max(10.0, plants * 1.5)))


def _walk(found: Outlook, four_fold_d: int) -> list[Task]:
    case = found.case
    last = case.rows.last
    if last is None:
        return [
            task(
                case.day,
                "walk",
                say("Walk {plants} plants", plants=PLANTS),
                walk_minutes(case, PLANTS),
                say("no walk yet"),
            )
        ]
    walked = last.time.astimezone(case.now.tzinfo).date()
    if found.stale:
        return [
            task(
                case.day,
                "walk",
                say("Look at {reopen_plants} plants", reopen_plants=REOPEN_PLANTS),
                walk_minutes(case, REOPEN_PLANTS),
                say(
                    "the last walk is {age_d} days old; {reopen_plants} plants open the forecast again",
                    age_d=found.age_d,
                    reopen_plants=REOPEN_PLANTS,
                ),
            )
        ]
    due = max(walked + timedelta(days=min(WALK_EVERY_D, four_fold_d)), case.day)
    why = (
        say("a week after the last one")
        if four_fold_d >= WALK_EVERY_D
        else say("the aphid can grow four-fold in {four_fold_d} days", four_fold_d=four_fold_d)
    )
    return [task(due, "walk", say("Walk {plants} plants", plants=PLANTS), walk_minutes(case, PLANTS), why)]


def _parcels(case: HouseCase) -> list[Task]:
    minutes = case.facts.one("", "release_minutes_per_1000_m2").value * case.model.area_m2 / 1000
    tasks = []
    arrived = _arrived(case)
    sprayed = sprays_of(case.snapshot, case.facts, case.farm, case.house)
    for coming in case.let_go.coming:
        species = case.facts.species[coming.line.enemy]
        if (coming.line.order, coming.line.line) not in arrived:
            tasks.append(
                task(
                    max(coming.line.delivery_date, case.day),
                    "arrival",
                    say(
                        "Receive {packs} x {pack_size} {latin}: feel the parcel, note lot, packing date "
                        "and temperature, keep some back in a dry jar",
                        packs=coming.line.packs,
                        pack_size=coming.line.pack_size,
                        latin=species.latin,
                    ),
                    10,
                    say("ordered; open it in moving air, with gloves"),
                )
            )
        day = max(coming.release_date, case.day)
        held = release_hold(sprayed, day)
        if held is not None:
            tasks.append(
                task(
                    day,
                    "no release",
                    say(
                        "Release no {latin} here: take the {number} to another house, or ask the supplier "
                        "for a later day",
                        latin=species.latin,
                        number=coming.number,
                    ),
                    10,
                    held,
                )
            )
            continue
        per_point = case.facts.one(coming.line.enemy, "point_area").value
        fewest = case.facts.one(coming.line.enemy, "point_least_number").value
        points = max(1, min(ceil(case.model.area_m2 / per_point), int(coming.number // fewest)))
        how = (
            say("at dusk, burners off and aired, not alone")
            if coming.line.form == "adults"
            else say("hung in the shade, dry, out of the reach of ants")
        )
        tasks.append(
            task(
                day,
                "release",
                say(
                    "Release {number} {latin} at {points} points, {how}",
                    number=coming.number,
                    latin=species.latin,
                    points=points,
                    how=how,
                ),
                max(minutes, 10),
                say("on its way; early wasps are worth most"),
            )
        )
    return tasks


def _arrived(case: HouseCase) -> set[tuple[str | None, int | None]]:
    return {(lot.order, lot.line) for lot in case.snapshot.table(Lot) if lot.arrived is not None}


def open_jars(case: HouseCase) -> list[tuple[Lot, date]]:
    """Return the lots let go here of which nobody has counted yet what came out, with the day on which to count."""
    released = {
        row.lot
        for row in case.snapshot.table(Release)
        if row.farm == case.farm.farm and row.house == case.house.house
    }
    checks = case.snapshot.table(Check)
    longest_ago = case.day - timedelta(days=CHECK_LATE_D)
    coolest = case.temperature.coolest[:, None]
    found = []
    for lot in case.snapshot.table(Lot):
        if lot.lot not in released or lot.arrived is None or lot.form in ("adults", "larvae"):
            continue
        if finished(case.facts, lot, checks, RIPENS):
            continue
        arrived = lot.arrived.astimezone(case.now.tzinfo).date()
        since = (arrived - case.first_day).days * 24
        if since < 0:
            continue
        # Where even the coolest hours of all members ended it long ago, there is no need to look at each member.
        ended = check_ends(case.facts, lot.enemy, arrived, coolest[since:]).likely
        if ended is not None and ended < longest_ago:
            continue
        due = _check_ends(case, lot, arrived, since)
        if due is not None and due >= longest_ago:
            found.append((lot, due))
    return found


def _check_ends(case: HouseCase, lot: Lot, arrived: date, since: int) -> date | None:
    """Return the likely end of a lot's check in the warmth of a house from an hour on."""

    def ends() -> dict[str, str | None]:
        likely = check_ends(case.facts, lot.enemy, arrived, case.temperature.hours[since:]).likely
        return {"likely": None if likely is None else str(likely)}

    told = case.temperature.read("check ends", (lot.enemy, arrived, since), ends)["likely"]
    return None if told is None else date.fromisoformat(told)


def _checks(case: HouseCase) -> list[Task]:
    tasks = []
    for lot, due in open_jars(case):
        arrived = (lot.arrived or case.now).astimezone(case.now.tzinfo).date()
        tasks.append(
            task(
                max(due, case.day),
                "check",
                say("Count the jar of lot {lot}: how many looked at, how many emerged", lot=lot.lot),
                10,
                say(
                    "day {days} in the warmth of this house; before it is neither pass nor reject",
                    days=(due - arrived).days,
                ),
            )
        )
    return tasks


def _mummies(case: HouseCase, first_look: dict[str, Any] | None) -> list[Task]:
    if first_look is None:
        return []
    day = date.fromisoformat(first_look["earliest"])
    if not case.day <= day < case.day + timedelta(days=7):
        return []
    return [
        task(
            day,
            "look",
            say("Look for the first mummies, low and on old leaves too"),
            15,
            say("none before is no sign; none by {latest} is one", latest=weekday(first_look["latest"])),
        )
    ]


def _holes(case: HouseCase) -> list[Task]:
    looked, ragged = ragged_holes(case.rows, case.now - timedelta(days=28))
    stage = "asks for a jar"
    fewest = case.facts.one("", "ragged_holes_least", stage=stage).value
    if looked < fewest or ragged / looked <= case.facts.one("", "ragged_share_limit", stage=stage).value:
        return []
    vial = case.facts.one("", "vial_mummies")
    return [
        task(
            case.day,
            "holes",
            say(
                "Put {vial} to {vial2} closed tan mummies in a dry jar and see what comes out",
                vial=round(vial.low or vial.value),
                vial2=round(vial.high or vial.value),
            ),
            20,
            say(
                "{ragged} of {looked} empty tan mummies have a ragged hole: hyperparasitoids feed on your "
                "wasps",
                ragged=ragged,
                looked=looked,
            ),
        )
    ]


def _sprays(case: HouseCase) -> list[Task]:
    found = sprays_of(case.snapshot, case.facts, case.farm, case.house)
    return [task(deed.day, deed.kind, deed.what, 10, deed.why) for deed in spray_deeds(found, case.now)]


def _bankers(case: HouseCase) -> list[Task]:
    """Return what the bankers that stand here ask for: renewed within the week, or taken out, at ragged holes today."""
    standing = [
        row
        for row in bankers_answer(case.snapshot, case.house.house, farm=case.farm.farm)["bankers"]
        if row["withdrawn_on"] is None
    ]
    looked, ragged = ragged_holes(case.rows, case.now - timedelta(days=28))
    soon = str(case.day + timedelta(days=7))
    tasks = []
    for row in standing:
        said = {"n": row["plants"], "banker": row["banker"]}
        if ragged or row["withdraw_by"] < soon:
            day = case.day if ragged else date.fromisoformat(row["withdraw_by"])
            what = say_many(
                "Bag {n} banker pot, {banker}, and take it out",
                "Bag {n} banker pots, {banker}, and take them out",
                **said,
            )
            why = (
                say(
                    "{ragged} of {looked} empty tan mummies have a ragged hole: bankers feed them",
                    ragged=ragged,
                    looked=looked,
                )
                if ragged
                else say("hyperparasitoids come with the season")
            )
        elif row["renew_by"] < soon:
            day = max(date.fromisoformat(row["renew_by"]), case.day)
            what = say_many("Renew {n} banker pot, {banker}", "Renew {n} banker pots, {banker}", **said)
            why = say("pots that are not renewed stop giving wasps")
        else:
            continue
        tasks.append(task(day, "banker", what, BANKER_MINUTES, why))
    return tasks


def _edges(case: HouseCase) -> list[Task]:
    """Return what the edges of the season ask for in the coming week and the book does not show as done."""
    house = case.house
    found = edge_tasks(case.snapshot, case.facts, case.farm, house, planting=house.planted, end=house.removed)
    return [
        task(max(item.day, case.day), "season", item.what, EDGE_MINUTES, item.why)
        for item in due_within(found, case.day, 7)
        if not checked(case.snapshot, case.farm, house, item)
    ]


def due_orders(
    orders: Sequence[dict[str, Any]], house: str, today: date, area_minutes: float = 10
) -> list[Task]:
    """Return the order tasks of one house from an order answer: those that are not provisional."""
    tasks = []
    for item in orders:
        lines = [line for line in item["lines"] if any(h["house"] == house for h in line["houses"])]
        if item["provisional"] or not lines:
            continue
        packs = sum(line["packs"] for line in lines)
        names = listed(dict.fromkeys(line["enemy"].replace("_", " ").capitalize() for line in lines))
        day = max(date.fromisoformat(item["cutoff"][:10]), today)
        tasks.append(
            task(
                day,
                "order",
                say_many(
                    "Order {n} pack of {names} from {supplier} before {cutoff}",
                    "Order {n} packs of {names} from {supplier} before {cutoff}",
                    packs,
                    names=names,
                    supplier=item["supplier"],
                    cutoff=item["cutoff"][11:16],
                ),
                area_minutes,
                say(
                    "comes {delivery_date}; the cut-off after this one is a week later",
                    delivery_date=weekday(item["delivery_date"]),
                ),
            )
        )
    return tasks
