"""What was written into the book, as an answer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from outpace.language import say
from outpace.records.store import Book
from outpace.season.enter import Entered
from outpace.season.headings import heading_of


def record(book: Book, entered: Entered, *, by: str, changes: bool = False, why: str = "") -> dict[str, Any]:
    """Record what a person entered and return what was written; with a conflict nothing was.

    Parameters
    ----------
    changes : bool, default False
        Whether the rows may replace what the book holds under their keys: the person named what to change.
    why : str
        Kept beside the old value.
    """
    written = book.record(entered.rows, by=by, correct=changes, why=why)
    if not written.conflicts:
        for kind, key in entered.withdrawn:
            book.withdraw(kind, *key, by=by, why="told again")
    return recorded_answer(book, written, sentence=entered.sentence, cautions=entered.cautions)


def recorded_answer(
    book: Book,
    written: Any,
    *,
    sentence: str,
    cautions: Sequence[str] = (),
) -> dict[str, Any]:
    """Return what was written as the answer of a recording command; with a conflict nothing was."""
    return {
        "schema": "outpace.recorded/1",
        "sentence": say("Nothing was written.") if written.conflicts else sentence,
        "new": written.new,
        "same": written.same,
        "corrected": written.corrected,
        "conflicts": [conflict_answer(conflict) for conflict in written.conflicts],
        "tables": dict(written.tables),
        "cautions": list(cautions),
        "head": book.head(),
    }


def conflict_answer(conflict: Any) -> dict[str, Any]:
    """Return a conflict as plain values."""
    parts = [
        say(
            "{column} is {held}, offered {new}",
            column=heading_of(conflict.table, column),
            held=told_value(held),
            new=told_value(new),
        )
        for column, (held, new) in conflict.differs.items()
    ]
    return {
        "table": conflict.table,
        "key": str(conflict.key),
        "columns": list(conflict.differs),
        "text": f"{conflict.where or f'`{conflict.table}` {conflict.key}'}: {'; '.join(parts)}",
    }


def told_value(value: Any) -> str:
    """Return a value of the book as a list of conflicts tells it."""
    return say("empty") if value is None else str(value)
