"""Options that several commands share, written once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

BookOption = Annotated[
    str | None,
    typer.Option(
        "--book",
        envvar="OUTPACE_BOOK",
        metavar="FILE|URL",
        help="The book: a file, or the URL of a PostgreSQL database. Left out: one in your data folder.",
    ),
]
AsOfOption = Annotated[
    str | None,
    typer.Option("--as-of", metavar="DATE", help="Speak as on that day, from what was known by its end."),
]
FarmOption = Annotated[
    str | None, typer.Option("--farm", metavar="NAME", help="The farm, where the book holds more than one.")
]
JsonOption = Annotated[
    bool, typer.Option("--json", help="Print the answer as JSON, in the layout its `schema` names.")
]
SourcesOption = Annotated[
    bool, typer.Option("--sources", help="Show also what lies behind the answer, and its sources.")
]
ByOption = Annotated[
    str | None,
    typer.Option(
        "--by", envvar="OUTPACE_BY", metavar="NAME", help="Who records this. Left out: your sign-in name."
    ),
]
OnOption = Annotated[
    str | None,
    typer.Option("--on", metavar="DATE|TIME", help="When it happened, in the farm's time. Left out: now."),
]
CorrectOption = Annotated[
    bool,
    typer.Option(
        "--correct", help="Let what differs from the book replace it; the old stays in the history."
    ),
]
WhyOption = Annotated[
    str | None,
    typer.Option("--why", metavar="TEXT", help="Why it is corrected; kept beside the old value."),
]
MinutesOption = Annotated[
    float | None,
    typer.Option("--minutes", min=0, metavar="N", help="Minutes of work it took, all hands together."),
]
ZoneOption = Annotated[
    str | None, typer.Option("--zone", metavar="NAME", help="The bay, bed or block of the house.")
]
HouseArgument = Annotated[str, typer.Argument(metavar="HOUSE", help="The house, by its name.")]
FileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="The file.")]
