"""The audit pack, and other paper that the book prints."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, get_args

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.cli import door
from outpace.surfaces.cli.tails import Asked

if TYPE_CHECKING:
    from outpace.season.open_book import Snapshot

What = Literal["walk-form", "arrival-card", "release-map", "labels", "mummy-card", "order-sheet"]

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
    *,
    asked: Asked,
) -> None:
    """Pack all records of some days for an auditor, with corrections and gaps."""
    from outpace.season.audit import audit as answer_of
    from outpace.surfaces.audit_files import audit_tables
    from outpace.surfaces.cli.week_files import make_folder, write_whole
    from outpace.surfaces.tables import csv_bytes, xlsx_bytes
    from outpace.surfaces.text.audit import render

    with door.book_at(asked.book) as opened:
        answer = answer_of(opened, first, last, farm=asked.farm, as_of=asked.as_of)
    if pdf is not None:
        from outpace.surfaces.sheets import audit_pack

        write_whole(pdf, audit_pack.render(answer))
        door.say(say("written: {file}", file=pdf))
    if xlsx is not None:
        write_whole(xlsx, xlsx_bytes(audit_tables(answer)))
        door.say(say("written: {file}", file=xlsx))
    if csv is not None:
        make_folder(csv)
        for name, table in audit_tables(answer).items():
            write_whole(csv / f"{name}.csv", csv_bytes(table))
        door.say(say("written: {file}", file=csv))
    asked.show(answer, render)


def print_paper(
    what: Annotated[
        What,
        typer.Argument(metavar="WHAT", help=f"One of: {', '.join(get_args(What))}."),
    ],
    target: Annotated[Path, typer.Argument(metavar="FILE", help="The PDF to write.")],
    house: Annotated[
        str | None, typer.Option("--house", metavar="HOUSE", help="Of walk-form, release-map and labels.")
    ] = None,
    lot: Annotated[
        str | None, typer.Option("--lot", metavar="LOT", help="Of arrival-card, release-map and labels.")
    ] = None,
    number: Annotated[
        int | None,
        typer.Option("--number", min=1, metavar="N", help="How many of the lot are for the house."),
    ] = None,
    carrier: Annotated[
        float | None,
        typer.Option("--carrier", min=0, metavar="N", help="Carrier they come in: each point gets its part."),
    ] = None,
    carrier_unit: Annotated[
        str, typer.Option("--carrier-unit", metavar="UNIT", help="What the carrier is measured in.")
    ] = "ml",
    *,
    asked: Asked,
) -> None:
    """Print forms, cards, labels and maps, black on white, as tagged PDF."""
    from outpace.season.keep import printed
    from outpace.surfaces.cli.week_files import write_whole
    from outpace.surfaces.text.kept import render

    if what == "mummy-card":
        from outpace.surfaces.sheets import mummy_card

        head = ""
        # What mummies tell is the same without a book.
        with suppress(OutpaceError), door.book_at(asked.book) as opened:
            head = str(opened.head())
        content = mummy_card.render(head=head)
    else:
        with asked.snapshot() as snapshot:
            content = _paper(snapshot, what, house, lot, number, asked.farm, (carrier, carrier_unit))
    write_whole(target, content)
    asked.show(printed(what, target), render)


def _paper(
    snapshot: Snapshot,
    what: str,
    house: str | None,
    lot: str | None,
    number: int | None,
    farm: str | None,
    carrier: tuple[float | None, str],
) -> bytes:
    from outpace.surfaces.sheets import forms, labels

    head = snapshot.head
    if what == "walk-form":
        from outpace.season.standing import houses_answer

        answer = houses_answer(snapshot, _told(house, "--house"), farm=farm)
        return forms.walk_form(answer["houses"][0], answer["farm"], answer["as_of"], head=head)
    if what == "arrival-card":
        from outpace.season.standing import lot_answer

        answer = lot_answer(snapshot, lot, farm=farm)
        told = None
        if lot is not None:
            from outpace.season.names import pick_farm
            from outpace.season.parcels import find_lot
            from outpace.season.pot import counted_on

            day = counted_on(snapshot, pick_farm(snapshot, farm), find_lot(snapshot, lot), {})
            told = {**answer["lot"], "count_on": day}
        return forms.arrival_card(answer["farm"], answer["as_of"], told, head=head)
    if what == "order-sheet":
        from outpace.season.order import order

        return forms.order_sheet(order(snapshot, farm=farm), head=head)
    from outpace.season.release_map import release_map

    answer = release_map(
        snapshot,
        _told(house, "--house"),
        _told(lot, "--lot"),
        number=number,
        farm=farm,
        carrier=carrier[0],
        carrier_unit=carrier[1],
    )
    return (labels.render if what == "labels" else forms.release_sheet)(answer, head=head)


def _told(value: str | None, option: str) -> str:
    if value is None:
        raise OutpaceError(
            say("`{option}` is not told", option=option),
            hint=say("add `{option} NAME`", option=option),
            code=ExitCode.USAGE,
        )
    return value
