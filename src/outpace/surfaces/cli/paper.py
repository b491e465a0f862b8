"""The audit pack, and other paper that the book prints."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import AsOfOption, BookOption, FarmOption, JsonOption

PdfOption = Annotated[
    Path | None, typer.Option("--pdf", metavar="FILE", help="Write it as PDF to print or to send.")
]
XlsxOption = Annotated[Path | None, typer.Option("--xlsx", metavar="FILE", help="Write one workbook.")]
CsvOption = Annotated[
    Path | None, typer.Option("--csv", metavar="FOLDER", help="Write one CSV file a table into a folder.")
]


def audit(
    first: Annotated[str, typer.Option("--from", metavar="DATE", help="The first day.")],
    last: Annotated[str, typer.Option("--to", metavar="DATE", help="The last day.")] = "today",
    pdf: PdfOption = None,
    xlsx: XlsxOption = None,
    csv: CsvOption = None,
    book: BookOption = None,
    as_of: AsOfOption = None,
    farm: FarmOption = None,
    as_json: JsonOption = False,
) -> None:
    """Pack all records of some days for an auditor, with corrections and gaps."""
    from outpace.season.audit import audit as answer_of
    from outpace.surfaces.audit_files import audit_tables
    from outpace.surfaces.cli.week_files import make_folder, write_whole
    from outpace.surfaces.tables import csv_bytes, xlsx_bytes
    from outpace.surfaces.text.audit import render

    with door.book_at(book) as opened:
        answer = answer_of(opened, first, last, farm=farm, as_of=as_of)
    if pdf is not None:
        from outpace.surfaces.sheets import audit_pack

        write_whole(pdf, audit_pack.render(answer))
        door.say(f"written: {pdf}")
    if xlsx is not None:
        write_whole(xlsx, xlsx_bytes(audit_tables(answer)))
        door.say(f"written: {xlsx}")
    if csv is not None:
        make_folder(csv)
        for name, table in audit_tables(answer).items():
            write_whole(csv / f"{name}.csv", csv_bytes(table))
        door.say(f"written: {csv}")
    door.show(answer, as_json, render)
