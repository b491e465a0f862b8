"""What was written into the book, as an answer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from outpace.records.store import Book


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
        "sentence": "Nothing was written." if written.conflicts else sentence,
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
        f"{column} is {_shown(held)}, offered {_shown(new)}"
        for column, (held, new) in conflict.differs.items()
    ]
    return {
        "table": conflict.table,
        "key": str(conflict.key),
        "columns": list(conflict.differs),
        "text": f"{conflict.where or f'`{conflict.table}` {conflict.key}'}: {'; '.join(parts)}",
    }


def _shown(value: Any) -> str:
    return "empty" if value is None else str(value)
