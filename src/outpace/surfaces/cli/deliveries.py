"""What came in a parcel, and where it was let go."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    HouseArgument,
    MinutesOption,
    ZoneOption,
)
from outpace.surfaces.cli.tails import Asked, AskedWithSources, Happening

Form = Literal["adults", "mummies", "pupae", "larvae", "eggs"]
Question = Literal["disaster", "guideline", "claim", "figure"]
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

LotArgument = Annotated[str, typer.Argument(metavar="LOT", help="The lot as printed on the pack.")]


def arrival(
    lot: LotArgument,
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
    *,
    entry: Happening,
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
    with entry.open_book() as opened:
        entered = arrival_from_words(
            door.known(opened), lot, str(enemy), told, packed=packed, arrived=entry.on, farm=entry.farm
        )
        entry.record(opened, entered)


def _count(option: str, text: str) -> Any:
    return typer.Option(option, min=0, metavar="N", help=text)


def arrival_check(
    lot: LotArgument,
    looked_at: Annotated[int | None, _count("--looked-at", "How many were in the pot, or counted.")] = None,
    emerged: Annotated[int | None, _count("--emerged", "How many of them emerged.")] = None,
    alive: Annotated[int | None, _count("--alive", "How many of them were alive.")] = None,
    females: Annotated[int | None, _count("--females", "How many were females.")] = None,
    sexed: Annotated[
        int | None, _count("--sexed", "Of how many the sex was looked at. Left out: those that emerged.")
    ] = None,
    jar: Annotated[
        bool, typer.Option("--jar", help="It was a closed jar, kept apart from the crop.")
    ] = False,
    days: Annotated[
        float | None,
        typer.Option("--days", min=0, metavar="D", help="Days since arrival. Left out: by the book."),
    ] = None,
    degc: Annotated[
        float | None,
        typer.Option("--mean", metavar="DEGC", help="Mean °C where the pot stood. Left out: the house's."),
    ] = None,
    ragged: Annotated[int | None, _count("--ragged", "How many holes were ragged.")] = None,
    note: Annotated[str | None, typer.Option("--note", metavar="TEXT", help="What else was seen.")] = None,
    *,
    entry: Happening,
) -> None:
    """Record what a check of a lot gave: emerged, alive, females."""
    from outpace.season.checking import check_from_words

    with entry.open_book() as opened:
        entered = check_from_words(
            door.known(opened),
            lot,
            looked_at=looked_at,
            emerged=emerged,
            alive=alive,
            females=females,
            sexed=sexed,
            jar=jar,
            days=days,
            degc=degc,
            ragged=ragged,
            note=note,
            on=entry.on,
            farm=entry.farm,
        )
        entry.record(opened, entered)


def arrival_show(
    lot: Annotated[
        str | None, typer.Argument(metavar="[LOT]", help="One lot. Left out: those of two months.")
    ] = None,
    question: Annotated[
        Question, typer.Option("--question", help="What the pot is to answer; sets how many go into it.")
    ] = "disaster",
    quality_limit: Annotated[
        float | None,
        typer.Option(
            "--aql", metavar="PERCENT", help="Print the ISO 2859-1 plan for this acceptance quality limit."
        ),
    ] = None,
    *,
    asked: AskedWithSources,
) -> None:
    """Show what is expected, and of each lot its age, check, worth and claim."""
    from outpace.season.arrival import arrival as answer_of
    from outpace.surfaces.text.arrival import render

    with asked.snapshot() as snapshot:
        answer = answer_of(snapshot, lot, farm=asked.farm, question=question, quality_limit=quality_limit)
    asked.show(answer, lambda shown: render(shown, whole=lot is not None, sources=asked.sources))


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
    minutes: MinutesOption = None,
    *,
    entry: Happening,
) -> None:
    """Record a release in a house; without a lot, one is noted on the way."""
    if lot is None:
        _need(enemy=enemy, form=form, number=number)
    else:
        _need(number=number)
    from outpace.season.parcels import release_from_words

    with entry.open_book() as opened:
        entered = release_from_words(
            door.known(opened),
            house,
            lot=lot,
            enemy=enemy,
            form=form,
            label_counts=label_counts,
            number=int(number or 0),
            on=entry.on,
            farm=entry.farm,
            zone=zone,
            points=points,
            canopy_degc=canopy,
            person=released_by,
            minutes=minutes,
            correct=entry.correct,
        )
        entry.record(opened, entered)


def _need(**told: object) -> None:
    absent = [f"`--{name}`" for name, value in told.items() if value is None]
    if absent:
        raise OutpaceError(
            say("not told: {options}", options=", ".join(absent)),
            hint=say("add {options}", options=", ".join(absent)),
            code=ExitCode.USAGE,
        )


def arrival_share(
    lot: Annotated[str, typer.Argument(metavar="LOT", help="The lot, as it was recorded.")],
    number: Annotated[
        int | None,
        typer.Option(
            "--number", min=1, metavar="N", help="How many there are; left out: what is left of it."
        ),
    ] = None,
    *,
    asked: Asked,
) -> None:
    """Share a parcel that came late, hot or short: which house gets it now."""
    from outpace.season.parcel_share import parcel_share
    from outpace.surfaces.text.parcel_share import render

    with asked.snapshot() as snapshot:
        answer = parcel_share(snapshot, lot, farm=asked.farm, number=number)
    asked.show(answer, render)


def points(
    house: HouseArgument,
    lot: Annotated[str, typer.Argument(metavar="LOT", help="The lot, as it was recorded.")],
    number: Annotated[
        int | None, typer.Option("--number", min=1, metavar="N", help="How many of it are for the house.")
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
    """Show where in a house to let a lot go: points in walking order, with their numbers."""
    from outpace.season.release_map import release_map
    from outpace.surfaces.text.points import render

    with asked.snapshot() as snapshot:
        answer = release_map(
            snapshot, house, lot, number=number, farm=asked.farm, carrier=carrier, carrier_unit=carrier_unit
        )
    asked.show(answer, render)
