"""Questions that several forms ask, each said once, and how their answers are handed on."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.web.entry.fields import Field, choice

Known = dict[str, Any]
"""What the book offers to choose from."""


def these(told: dict[str, Any], *names: str) -> dict[str, Any]:
    """Return what was told under some names, to be handed on by keyword.

    Examples
    --------
    >>> these({"house": "north", "on": None, "by": "Ida"}, "house", "on")
    {'house': 'north', 'on': None}
    """
    return {name: told[name] for name in names}


def is_yes(answer: str | None) -> bool | None:
    """Return an answer of `yes_no` as True or False; None where nothing was told.

    Examples
    --------
    >>> is_yes("yes"), is_yes("no"), is_yes(None)
    (True, False, None)
    """
    return None if answer is None else answer == "yes"


def missing(name: str, allowed: str = "") -> OutpaceError:
    """Return the mistake that nothing stands in a field that is needed."""
    return OutpaceError(
        say("nothing is entered here"),
        where=name,
        allowed=allowed or say("this is needed"),
        code=ExitCode.USAGE,
    )


def yes_no() -> tuple[tuple[str, str], ...]:
    """Return the two answers to a plain question."""
    return (("yes", say("yes")), ("no", say("no")))


def per_units() -> tuple[tuple[str, str], ...]:
    """Return what an action level may count by."""
    return (
        ("leaf", say("leaf")),
        ("shoot", say("shoot")),
        ("plant", say("plant")),
        ("share_infested", say("share of plants with any")),
    )


def house_choice(known: Known, **more: Any) -> Field:
    """Return the field that asks which house."""
    names = [row["house"] for row in known["houses"]]
    told: dict[str, Any] = {"need": True, "value": names[0] if len(names) == 1 else "", **more}
    return choice("house", say("House"), [(name, name) for name in names], **told)


def zone_field(known: Known) -> Field:
    """Return the field that asks which part of a house."""
    zones = tuple(dict.fromkeys(zone for row in known["houses"] for zone in row["zones"]))
    return Field(
        "zone",
        say("Bay, bed or block"),
        option="--zone",
        near=zones,
        more=True,
        note=say("empty: the whole house"),
    )


def when_field(known: Known, name: str = "on", option: str = "--on", label: str = "") -> Field:
    """Return the field that asks when something happened; it opens with now."""
    return Field(name, label or say("When"), "moment", option=option, value=known.get("now", ""))


def minutes_field() -> Field:
    """Return the field for the minutes that some work took."""
    return Field(
        "minutes",
        say("Minutes of work it took"),
        "number",
        option="--minutes",
        more=True,
        note=say("all hands together; empty: unknown, not nothing"),
    )


def supplier_field(known: Known, **more: Any) -> Field:
    """Return the field that asks whose pack it is."""
    return Field("supplier", say("Supplier"), near=tuple(known["suppliers"]), **more)


def came_as() -> tuple[tuple[str, str], ...]:
    """Return the forms in which enemies are sold."""
    return (
        ("mummies", say("mummies")),
        ("adults", say("adults")),
        ("pupae", say("pupae")),
        ("larvae", say("larvae")),
        ("eggs", say("eggs")),
    )


def label_counts() -> tuple[tuple[str, str], ...]:
    """Return what the number on a label may count."""
    return (
        ("units_in_pack", say("units in the pack")),
        ("adults_expected", say("adults expected to come out")),
        ("unknown", say("the label does not say")),
    )


def enemy_choice(known: Known, **more: Any) -> Field:
    """Return the field that asks which enemy."""
    listed = [(row["key"], row["latin"]) for row in known["enemies"]]
    return choice("enemy", say("Natural enemy"), listed, option="--enemy", **more)


def came_as_choice(label: str, **more: Any) -> Field:
    """Return the field that asks as what enemies come or came."""
    return choice("form", label, came_as(), **more)


def label_counts_choice(label: str = "", **more: Any) -> Field:
    """Return the field that asks what the number on a label counts."""
    return choice("label_counts", label or say("What does that number count?"), label_counts(), **more)


def lot_choice(known: Known, label: str, **more: Any) -> Field:
    """Return the field that asks which lot."""
    return choice("lot", label, [(row["lot"], row["said"]) for row in known["lots"]], **more)


def order_choice(name: str, label: str, rows: Iterable[dict[str, Any]], **more: Any) -> Field:
    """Return the field that asks which line of which order."""
    return choice(name, label, [(f"{row['order']}|{row['line']}", row["said"]) for row in rows], **more)


def order_and_line(answer: str) -> tuple[str, int]:
    """Return the order and the line that an answer of `order_choice` names.

    Examples
    --------
    >>> order_and_line("B-7|2")
    ('B-7', 2)
    """
    order, _, line = answer.rpartition("|")
    return order, int(line)
