"""The header of an exchange file: which column stands where, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.columns import BOOKKEEPING, Table
from outpace.records.surroundings import Surroundings


def places_of(
    header: list[str], described: Table, bookkeeping: Sequence[str], shown: str, around: Surroundings
) -> dict[str, int] | None:
    """Return where each column of a table stands in its file; None where the header cannot be read.

    Parameters
    ----------
    bookkeeping : sequence of str
        Columns that may stand beside those of the table: who recorded a row, and when.
    shown : str
        The file as errors name it; they are added to the surroundings, all of them.
    """
    where = f"`{shown}`"
    names = described.names
    before = len(around.errors)
    for at, name in enumerate(header):
        if not name:
            around.add(
                OutpaceError(
                    say("column {at} has no name", at=at + 1),
                    where=where,
                    allowed=say("every column has one"),
                )
            )
        elif header.index(name) != at:
            around.add(
                OutpaceError(
                    say("column `{name}` stands twice", name=name),
                    where=where,
                    allowed=say("each name stands once"),
                )
            )
        elif name not in names and name not in bookkeeping:
            around.add(_unknown(name, header, described, where))
    absent = [
        column.stored
        for column in described.columns
        if column.required and column.stored not in header and column.stored != "farm"
    ]
    for name in absent:
        around.add(
            OutpaceError(
                say("column `{name}` is missing", name=name),
                where=where,
                allowed=say("needed: {needed}", needed=", ".join(_needed(described))),
            )
        )
    if len(around.errors) > before:
        return None
    if "farm" in names and "farm" not in header and around.only_farm() is None:
        around.add(
            OutpaceError(
                say("column `farm` is missing"),
                where=where,
                allowed=say("it may be left out only where there is one farm"),
                hint=say("add `farm.csv`, or a column `farm`"),
            )
        )
        return None
    return {name: at for at, name in enumerate(header)}


def _needed(described: Table) -> list[str]:
    return [column.stored for column in described.columns if column.required]


def _unknown(name: str, header: list[str], described: Table, where: str) -> OutpaceError:
    names = [*described.names, *BOOKKEEPING]
    near = get_close_matches(name.lower(), names, n=1)
    if len(header) == 1 and any(mark in name for mark in ";\t|"):
        hint = say("cells are parted by commas: save the file as CSV with commas")
    elif near and near[0] not in header:
        hint = say("did you mean `{near}`?", near=near[0])
    else:
        hint = say("remove the column, or rename it to one of these")
    return OutpaceError(
        say("unknown column `{name}`", name=name[:60]),
        where=where,
        allowed=say("columns: {names}", names=", ".join(names)),
        hint=hint,
    )


def ragged_hint(cells: list[str], header: list[str]) -> str:
    """Return what helps where a row has more or fewer cells than the header."""
    if len(cells) > len(header):
        return say('text with a comma needs quotes: "20 looked at, 4 with greenfly"')
    return say("every row needs as many commas as the header")
