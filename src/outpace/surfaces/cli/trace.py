"""From a code on a crate or a label to all that stands behind it, and back."""

from __future__ import annotations

from typing import Annotated

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.tails import Asked


def trace(
    code: Annotated[
        str,
        typer.Argument(
            metavar="CODE",
            help="A harvest code, or a lot, order, invoice, spray, release, walk or batch of plants.",
        ),
    ],
    whole: Annotated[bool, typer.Option("--whole", help="Show every walk, not the last twelve.")] = False,
    *,
    asked: Asked,
) -> None:
    """Show what stands behind a harvest code, or where a lot or a spray went."""
    from outpace.season.trace import trace as answer_of
    from outpace.surfaces.text.trace import render

    with door.book_at(asked.book) as opened:
        answer = answer_of(opened, code, farm=asked.farm, as_of=asked.as_of)
    asked.show(answer, lambda shown: render(shown, whole=whole))
