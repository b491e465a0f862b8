"""From a code on a crate or a label to all that stands behind it, and back."""

from __future__ import annotations

from typing import Annotated

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import AsOfOption, BookOption, FarmOption, JsonOption


def trace(
    code: Annotated[
        str,
        typer.Argument(
            metavar="CODE",
            help="A harvest code, or a lot, order, invoice, spray, release, walk or batch of plants.",
        ),
    ],
    whole: Annotated[bool, typer.Option("--whole", help="Show every walk, not the last twelve.")] = False,
    book: BookOption = None,
    as_of: AsOfOption = None,
    farm: FarmOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show what stands behind a harvest code, or where a lot or a spray went."""
    from outpace.season.trace import trace as answer_of
    from outpace.surfaces.text.trace import render

    with door.book_at(book) as opened:
        answer = answer_of(opened, code, farm=farm, as_of=as_of)
    door.show(answer, as_json, lambda shown: render(shown, whole=whole))
