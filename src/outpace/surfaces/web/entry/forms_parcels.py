"""What is asked of parcels: what came, what its checks gave, where it was let go."""

from __future__ import annotations

from typing import Any

from outpace.currency import money
from outpace.language import say
from outpace.surfaces.web.entry.fields import Field, Form, choice, measured
from outpace.surfaces.web.entry.shared_fields import (
    Known,
    came_as_choice,
    enemy_choice,
    house_choice,
    label_counts_choice,
    lot_choice,
    minutes_field,
    missing,
    order_and_line,
    order_choice,
    supplier_field,
    these,
    when_field,
    yes_no,
    zone_field,
)


def arrival(known: Known) -> Form:
    """Ask what came in a parcel."""
    expected = known["expected"]
    asks_order = (
        (order_choice("expected", say("Which order is it?"), expected, option="--order"),) if expected else ()
    )
    return Form(
        "arrival",
        say("Parcel that came"),
        say("What came today, and how many does its label say?"),
        say("Keep the parcel"),
        (
            *asks_order,
            Field("lot", say("Lot, as printed on the pack"), need=True),
            enemy_choice(known, note=say("empty: as ordered") if expected else ""),
            came_as_choice(say("It came as"), option="--form"),
            Field(
                "number",
                say("Number on the labels, all packs together"),
                "whole",
                option="--number",
                note=say("empty: as ordered") if expected else "",
            ),
            label_counts_choice(need=True, option="--label-counts", value="unknown"),
            Field(
                "packed",
                say("Packed on"),
                "day",
                option="--packed",
                note=say("the life of a parcel counts from here"),
            ),
            measured("parcel", say("Temperature in the parcel"), "temperature", option="--parcel"),
            Field(
                "condition",
                say("How it looked"),
                option="--condition",
                near=(say("dry"), say("wet"), say("crushed")),
            ),
            Field("packs", say("Packs"), "whole", option="--packs", more=True),
            when_field(known, label=say("It came")),
        ),
        _make_arrival,
        care=(
            say(
                "Open it in moving air, with gloves, and a dust mask for loose carrier; stop at a wheeze "
                "or a rash."
            ),
        ),
        onward=((say("Let them go"), "/enter/release"), (say("See all parcels"), "/arrivals")),
        here="arrivals",
    )


def _make_arrival(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.choices import choices
    from outpace.season.parcels import arrival_from_words

    order, line = None, None
    ordered: dict[str, Any] = {}
    if told.get("expected"):
        order, line = order_and_line(told["expected"])
        rows = choices(snapshot, told["farm"])["expected"]
        ordered = next((row for row in rows if (row["order"], row["line"]) == (order, line)), {})
    values = {name: told[name] or ordered.get(name) for name in ("enemy", "form")}
    values["number"] = ordered.get("number") if told["number"] is None else told["number"]
    _need(values)
    row = {
        "form": values["form"],
        "labelled_number": values["number"],
        "parcel_degc": told["parcel"],
        "order": order,
        "line": line,
        **these(told, "label_counts", "packs", "condition"),
    }
    return arrival_from_words(
        snapshot,
        told["lot"],
        str(values["enemy"]),
        row,
        packed=told["packed"],
        arrived=told["on"],
        farm=told["farm"],
    )


def _need(told: dict[str, Any]) -> None:
    for name, value in told.items():
        if value is None:
            raise missing(name)


def check(known: Known) -> Form:
    """Ask what a check of a lot gave."""
    return Form(
        "check",
        say("Check of a lot"),
        say("How many of the lot came out, and of how many?"),
        say("Keep the check"),
        (
            lot_choice(known, say("Lot"), need=True),
            Field("looked_at", say("In the pot, or counted"), "whole", option="--looked-at"),
            Field(
                "emerged",
                say("Came out of these"),
                "whole",
                option="--emerged",
                note=say("exit holes, for mummies"),
            ),
            Field("alive", say("Alive of these, on arrival"), "whole", option="--alive"),
            Field("females", say("Females among them, if you looked"), "whole", option="--females"),
            Field("sexed", say("Of how many the sex was looked at"), "whole", option="--sexed", more=True),
            Field("ragged", say("Ragged holes among them"), "whole", option="--ragged"),
            choice(
                "jar", say("Was it a closed jar, apart from the crop?"), yes_no(), option="--jar", more=True
            ),
            measured(
                "degc", say("Mean temperature where the pot stood"), "temperature", option="--mean", more=True
            ),
            Field(
                "days", say("Days since it came, if not by the book"), "number", option="--days", more=True
            ),
            Field("note", say("What else was seen"), "long", option="--note", more=True),
            when_field(known),
        ),
        _make_check,
        onward=((say("See all parcels"), "/arrivals"),),
        here="arrivals",
    )


def _make_check(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.checking import check_from_words

    counted = these(told, "looked_at", "emerged", "alive", "females", "sexed", "ragged")
    around = these(told, "days", "degc", "note", "on", "farm")
    return check_from_words(snapshot, told["lot"], jar=told["jar"] == "yes", **counted, **around)


def release(known: Known) -> Form:
    """Ask where enemies were let go."""
    return Form(
        "release",
        say("Release"),
        say("How many did you let go, in which house, and when?"),
        say("Keep the release"),
        (
            house_choice(known),
            zone_field(known),
            lot_choice(
                known,
                say("Lot it came from"),
                option="--lot",
                note=say("without one, tell enemy and form below"),
            ),
            Field("number", say("How many"), "whole", option="--number", need=True),
            Field("points", say("At how many points"), "whole", option="--points"),
            measured("canopy", say("Temperature among the leaves"), "temperature", option="--canopy"),
            when_field(known),
            enemy_choice(known, more=True),
            came_as_choice(say("They were let go as"), option="--form", more=True),
            label_counts_choice(say("The number counts"), option="--label-counts", more=True),
            Field("person", say("Who let them go"), option="--person", more=True),
            minutes_field(),
        ),
        _make_release,
        care=(
            say("Not on wet leaves, not beside ants, not under a lamp; adults at dusk or early, sides down."),
        ),
        onward=((say("Another release"), "/enter/release"), (say("Look at this week"), "/")),
        here="arrivals",
    )


def _make_release(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.parcels import release_from_words

    if told["lot"] is None:
        _need(these(told, "enemy", "form"))
    return release_from_words(
        snapshot,
        told["house"],
        label_counts=told["label_counts"] or "unknown",
        canopy_degc=told["canopy"],
        **these(told, "lot", "enemy", "form", "number", "on", "farm", "zone", "points", "person", "minutes"),
    )


def pack(known: Known) -> Form:
    """Ask what can be bought: a pack, its price, and when it can be ordered."""
    days = [
        ("Mon", say("Monday")),
        ("Tue", say("Tuesday")),
        ("Wed", say("Wednesday")),
        ("Thu", say("Thursday")),
        ("Fri", say("Friday")),
        ("Sat", say("Saturday")),
        ("Sun", say("Sunday")),
    ]
    currency = known.get("currency", "")
    return Form(
        "pack",
        say("Pack on offer"),
        say("What does 1 pack hold, what does it cost, and by when must it be ordered?"),
        say("Keep the offer"),
        (
            supplier_field(known, need=True),
            enemy_choice(known, need=True),
            came_as_choice(say("It comes as"), need=True),
            Field("pack_size", say("Number in a pack"), "whole", need=True),
            label_counts_choice(need=True, value="unknown"),
            Field("price", say("Price of a pack, {money}", money=currency), "number", need=True),
            Field("freight", say("Freight of a parcel, {money}", money=currency), "number"),
            choice("cutoff_weekday", say("Order by"), days, need=True),
            Field(
                "cutoff_time", say("before, o'clock"), note=say("such as 12:00; empty: the end of the day")
            ),
            Field("delivery_weekday", say("It comes on"), "several", choices=tuple(days), need=True),
            Field("lead_d", say("Days from order to delivery at least"), "whole", more=True),
            Field("packs_per_parcel", say("Packs in a parcel at most"), "whole", more=True),
            Field("minimum_order_packs", say("Least packs in an order"), "whole", more=True),
            Field(
                "minimum_order_money",
                say("Least money of an order, {money}", money=currency),
                "number",
                more=True,
            ),
            Field("valid_from", say("This price holds from"), "day", more=True),
            Field("life_d", say("It keeps, days"), "number", more=True),
            measured("life_at_degc", say("at"), "temperature", more=True),
            Field(
                "no_delivery",
                say("Days without delivery"),
                more=True,
                note=say("such as 2026-12-25 2026-12-26"),
            ),
        ),
        _make_pack,
        changes=True,
        onward=((say("Another pack"), "/enter/pack"), (say("See the plan"), "/plan")),
        here="settings",
    )


def _make_pack(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.enter import Entered, plain_name
    from outpace.season.moments import day
    from outpace.season.names import pick_farm
    from outpace.season.register import enemy_name
    from outpace.terms.enemies import Pack

    there = pick_farm(snapshot, told["farm"])

    columns = (
        "enemy", "form", "pack_size", "label_counts", "price", "packs_per_parcel", "minimum_order_money",
        "minimum_order_packs", "life_d", "life_at_degc", "no_delivery",
        "cutoff_weekday", "cutoff_time", "delivery_weekday", "lead_d",
    )  # fmt: skip
    row = Pack(
        supplier=plain_name(told["supplier"], "supplier"),
        freight_per_parcel=told["freight"],
        valid_from=day(told["valid_from"], where="valid_from") if told["valid_from"] else None,
        **these(told, *columns),
    )
    said = say(
        "{supplier}: {size:,} {enemy} for {price}.",
        supplier=row.supplier, size=row.pack_size, enemy=enemy_name(row.enemy),
        price=money(row.price, there.currency),
    )  # fmt: skip
    return Entered([row], said)
