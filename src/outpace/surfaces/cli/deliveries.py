"""What came in a parcel, and where it was let go."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    BookOption,
    ByOption,
    CorrectOption,
    FarmOption,
    HouseArgument,
    JsonOption,
    OnOption,
    ZoneOption,
)

Form = Literal["adults", "mummies", "pupae", "larvae", "eggs"]
Label = Literal["units_in_pack", "adults_expected", "unknown"]

CountsOption = Annotated[
    Label,
    typer.Option(
        "--label-counts",
        help="What the number on the label counts: units in the pack, or adults expected to emerge.",
    ),
]
EnemyOption = Annotated[
    str | None,
    typer.Option("--enemy", metavar="NAME", help="The enemy: Latin or English name, or EPPO code."),
]
FormOption = Annotated[Form | None, typer.Option("--form", help="As what it came.")]


def arrival(
    lot: Annotated[str, typer.Argument(metavar="LOT", help="The lot as printed on the pack.")],
    enemy: EnemyOption = None,
    form: FormOption = None,
    number: Annotated[
        int | None, typer.Option("--number", min=0, help="The number on the labels, all packs together.")
    ] = None,
    label_counts: CountsOption = "unknown",
    packs: Annotated[int | None, typer.Option("--packs", min=1, help="How many packs.")] = None,
    packed: Annotated[
        str | None, typer.Option("--packed", metavar="DATE", help="Day of packing: the clock of its life.")
    ] = None,
    parcel: Annotated[
        float | None, typer.Option("--parcel", metavar="DEGC", help="Temperature inside the parcel in °C.")
    ] = None,
    condition: Annotated[
        str | None,
        typer.Option("--condition", metavar="TEXT", help="How it looked: dry, wet, crushed, late."),
    ] = None,
    order: Annotated[
        str | None, typer.Option("--order", metavar="ORDER", help="The order it belongs to.")
    ] = None,
    line: Annotated[int | None, typer.Option("--line", min=1, help="The line of that order.")] = None,
    on: OnOption = None,
    correct: CorrectOption = False,
    book: BookOption = None,
    farm: FarmOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a lot that arrived."""
    _need(enemy=enemy, form=form, number=number)
    from outpace.season.parcels import arrival_from_words

    told: dict[str, Any] = {
        "form": form,
        "label_counts": label_counts,
        "labelled_number": number,
        "packs": packs,
        "parcel_degc": parcel,
        "condition": condition,
        "order": order,
        "line": line,
    }
    with door.book_at(book) as opened:
        entered = arrival_from_words(
            opened.snapshot(), lot, str(enemy), told, packed=packed, arrived=on, farm=farm
        )
        door.record(opened, entered, by=by, changes=correct, as_json=as_json)


def release(
    house: HouseArgument,
    lot: Annotated[
        str | None,
        typer.Option("--lot", metavar="LOT", help="The lot it came from; or give --enemy and --form."),
    ] = None,
    enemy: EnemyOption = None,
    form: FormOption = None,
    number: Annotated[int | None, typer.Option("--number", min=0, help="How many were let go.")] = None,
    label_counts: CountsOption = "unknown",
    zone: ZoneOption = None,
    points: Annotated[int | None, typer.Option("--points", min=1, help="At how many release points.")] = None,
    canopy: Annotated[
        float | None, typer.Option("--canopy", metavar="DEGC", help="Temperature among the leaves in °C.")
    ] = None,
    released_by: Annotated[
        str | None, typer.Option("--person", metavar="NAME", help="Who let them go.")
    ] = None,
    on: OnOption = None,
    correct: CorrectOption = False,
    book: BookOption = None,
    farm: FarmOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a release in a house; without a lot, one is noted on the way."""
    if lot is None:
        _need(enemy=enemy, form=form, number=number)
    else:
        _need(number=number)
    from outpace.season.parcels import release_from_words

    with door.book_at(book) as opened:
        entered = release_from_words(
            opened.snapshot(),
            house,
            lot=lot,
            enemy=enemy,
            form=form,
            label_counts=label_counts,
            number=int(number or 0),
            on=on,
            farm=farm,
            zone=zone,
            points=points,
            canopy_degc=canopy,
            person=released_by,
        )
        door.record(opened, entered, by=by, changes=correct, as_json=as_json)


def _need(**told: object) -> None:
    absent = [f"`--{name}`" for name, value in told.items() if value is None]
    if absent:
        raise OutpaceError(
            f"{' and '.join(absent)} {'is' if len(absent) == 1 else 'are'} not told",
            hint=f"add {' and '.join(absent)}",
            code=ExitCode.USAGE,
        )
