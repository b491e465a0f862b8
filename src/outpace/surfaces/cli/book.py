"""The book of all records: begin, import, export, check, keep a copy."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from outpace.errors import ExitCode
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import BookOption, ByOption, CorrectOption, JsonOption

PathsArgument = Annotated[
    list[Path],
    typer.Argument(metavar="PATH...", help="A data package (folder or zip), or single tables: walks.csv ..."),
]
TargetArgument = Annotated[Path, typer.Argument(metavar="PATH", help="The folder or .zip to write.")]


def init(book: BookOption = None, as_json: JsonOption = False) -> None:
    """Begin an empty book where there is none."""
    from outpace.season.keep import begin
    from outpace.surfaces.text.kept import render

    door.show(begin(book), as_json, render)


def import_tables(
    paths: PathsArgument,
    correct: CorrectOption = False,
    book: BookOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Import a data package or single tables; the same twice changes nothing."""
    from outpace.season.keep import import_paths
    from outpace.surfaces.text.recorded import render

    with door.book_at(book, create=True) as opened:
        answer = import_paths(opened, paths, by=door.person(by), correct=correct)
    door.show(answer, as_json, render)
    door.end_if_due({"conflicts": [*answer["conflicts"], *answer["unsettled"]]})


def export_tables(target: TargetArgument, book: BookOption = None, as_json: JsonOption = False) -> None:
    """Write the whole book as a data package: CSV tables with their description."""
    from outpace.season.keep import export_to
    from outpace.surfaces.text.kept import render

    with door.book_at(book) as opened:
        answer = export_to(opened, target)
    door.show(answer, as_json, render)


def verify(book: BookOption = None, as_json: JsonOption = False) -> None:
    """Check that nothing in the book was altered or lost."""
    from outpace.season.keep import verify_book
    from outpace.surfaces.text.kept import render

    with door.book_at(book) as opened:
        answer = verify_book(opened)
    door.show(answer, as_json, render)
    if answer["problems"]:
        raise typer.Exit(int(ExitCode.FAILED))


def heads(book: BookOption = None, as_json: JsonOption = False) -> None:
    """Print the digest of the last event: two books with one head hold the same records."""
    from outpace.season.keep import head_of
    from outpace.surfaces.text.kept import render

    with door.book_at(book) as opened:
        answer = head_of(opened)
    door.show(answer, as_json, render)


def conflicts(book: BookOption = None, as_json: JsonOption = False) -> None:
    """List the rows of which merged devices say different things."""
    from outpace.season.keep import conflicts_of
    from outpace.surfaces.text.kept import render

    with door.book_at(book) as opened:
        answer = conflicts_of(opened)
    door.show(answer, as_json, render)
    door.end_if_due(answer)


def erase_person(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The name, as it stands in the book.")],
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="Kept with the erasure.")] = "",
    book: BookOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Erase a person's name for good; their entries stay, the erasure is written down."""
    from outpace.season.keep import erase
    from outpace.surfaces.text.kept import render

    with door.book_at(book) as opened:
        answer = erase(opened, name, by=door.person(by), why=why)
    door.show(answer, as_json, render)


def backup(target: TargetArgument, book: BookOption = None, as_json: JsonOption = False) -> None:
    """Write a whole copy of the book to one file."""
    from outpace.season.keep import back_up
    from outpace.surfaces.text.kept import render

    with door.book_at(book) as opened:
        answer = back_up(opened, target)
    door.show(answer, as_json, render)


def restore(
    source: Annotated[Path, typer.Argument(metavar="FILE", help="A copy made by `outpace backup`.")],
    book: BookOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put a copy back as the book; a book that is there already is never written over."""
    from outpace.season.keep import put_back
    from outpace.surfaces.text.kept import render

    door.show(put_back(source, book), as_json, render)
