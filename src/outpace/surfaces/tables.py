"""Tables as files that a spreadsheet opens: CSV and XLSX, in which nothing that people wrote becomes a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

Cell = str | float | int | bool | None
Table = tuple[Sequence[str], Sequence[Sequence[Any]]]
"""A heading row, and the rows under it."""

RUNS = ("=", "+", "-", "@", "\t", "\r")
"""So begins what a spreadsheet takes for a formula."""


def harmless(cell: Any) -> Any:
    """Return a text so that no spreadsheet runs it: a mark before what looks like a formula.

    Examples
    --------
    >>> harmless("=1+1"), harmless("-3 °C"), harmless(-3), harmless("plain")
    ("'=1+1", "'-3 °C", -3, 'plain')
    """
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(RUNS) else cell


def csv_bytes(table: Table) -> bytes:
    """Return a table as CSV in UTF-8, with the mark by which spreadsheets know the encoding."""
    header, rows = table
    told = io.StringIO()
    writer = csv.writer(told, lineterminator="\r\n")
    writer.writerow([harmless(name) for name in header])
    writer.writerows([["" if cell is None else harmless(cell) for cell in row] for row in rows])
    return "\ufeff".encode() + told.getvalue().encode()


def xlsx_bytes(tables: Mapping[str, Table]) -> bytes:
    """Return tables as one workbook, one sheet each; texts are texts, whatever they begin with."""
    import xlsxwriter

    told = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    with xlsxwriter.Workbook(told, options) as book:
        bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        for name, (header, rows) in tables.items():
            sheet = book.add_worksheet(name[:31])
            for at, title in enumerate(header):
                sheet.write_string(0, at, title, bold)
            for number, row in enumerate(rows, 1):
                for at, cell in enumerate(row):
                    _write(sheet, number, at, cell)
            sheet.freeze_panes(1, 0)
            sheet.set_column(0, max(len(header) - 1, 0), 18)
    return told.getvalue()


def _write(sheet: Any, row: int, column: int, cell: Cell) -> None:
    if cell is None:
        return
    if isinstance(cell, bool):
        sheet.write_string(row, column, "yes" if cell else "no")
    elif isinstance(cell, int | float):
        sheet.write_number(row, column, cell)
    else:
        sheet.write_string(row, column, cell[:32_000])
