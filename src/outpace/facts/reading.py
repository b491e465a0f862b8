"""The tables beside this module, read as rows of a frozen class whose fields are the columns."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import Any

from outpace.errors import OutpaceError
from outpace.language import say

HERE = Path(__file__).parent


def read_rows(file_name: str, kind: type[Any]) -> Iterator[Any]:
    """Yield the rows of a table, each as one of its class.

    Raises
    ------
    OutpaceError
        If the header is not the fields of the class, or a cell cannot be read.
    """
    path = HERE / file_name
    readers = {field.name: _READERS[str(field.type)] for field in fields(kind)}
    with path.open(encoding="utf-8", newline="") as file:
        table = csv.DictReader(file)
        if table.fieldnames != list(readers):
            raise OutpaceError(
                say("columns {columns}", columns=table.fieldnames),
                where=f"`{file_name}`",
                allowed=say("must be {columns}", columns=list(readers)),
            )
        for number, row in enumerate(table, start=2):
            try:
                yield kind(**{name: read(row[name]) for name, read in readers.items()})
            except (TypeError, ValueError, AttributeError) as error:
                raise OutpaceError(
                    str(error), where=say("`{file}` row {row}", file=file_name, row=number)
                ) from error


_READERS: dict[str, Any] = {
    "str": str.strip,
    "float": float,
    "int": int,
    "float | None": lambda text: float(text) if text else None,
    "int | None": lambda text: int(text) if text else None,
    "tuple[str, ...]": lambda text: tuple(part for part in text.split("|") if part),
}
