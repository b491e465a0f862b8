"""What else is written down of a farm: plants in, sticky cards, harvests, decisions, permits."""

from __future__ import annotations

from typing import Annotated, Literal

import typer

from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    HouseArgument,
    OnOption,
    ZoneOption,
)
from outpace.surfaces.cli.tails import Change, Happening

PersonOption = Annotated[str | None, typer.Option("--person", metavar="NAME", help="Who decided.")]


def plants_in(
    crop: Annotated[str, typer.Argument(metavar="CROP", help="What came in.")],
    source: Annotated[
        str | None, typer.Option("--source", metavar="NAME", help="Who raised or sold them.")
    ] = None,
    number: Annotated[int | None, typer.Option("--number", min=0, help="How many plants.")] = None,
    house: Annotated[
        str | None, typer.Option("--house", metavar="HOUSE", help="The house they went into.")
    ] = None,
    looked_at: Annotated[
        int | None, typer.Option("--looked-at", min=0, metavar="N", help="How many you looked at.")
    ] = None,
    finds: Annotated[
        str | None, typer.Option("--finds", metavar="TEXT", help='What you found; "nothing" if so.')
    ] = None,
    sprayed: Annotated[
        Literal["yes", "no", "unknown"] | None,
        typer.Option("--sprayed", help="What the raiser said: were they sprayed?"),
    ] = None,
    sprays: Annotated[
        str | None, typer.Option("--sprays", metavar="TEXT", help="With what, and when.")
    ] = None,
    batch: Annotated[
        str | None, typer.Option("--batch", metavar="NAME", help="A name for them; left out: one is made.")
    ] = None,
    *,
    entry: Happening,
) -> None:
    """Record plants that came in, and what their raiser sprayed: yes, no, unknown."""
    from outpace.season.upkeep import plants_in as from_words

    told = {
        "source": source,
        "number": number,
        "looked_at": looked_at,
        "finds": finds,
        "sprays_told": sprayed,
        "sprays": sprays,
    }
    with entry.open_book() as opened:
        entered = from_words(
            door.known(opened), crop, told, batch=batch, house=house, on=entry.on, farm=entry.farm
        )
        entry.record(opened, entered)


def card(
    house: HouseArgument,
    name: Annotated[str, typer.Argument(metavar="CARD", help="The card, by its name or number.")],
    winged: Annotated[
        int | None,
        typer.Option("--winged", min=0, metavar="N", help="Winged aphids on it; left out: not counted."),
    ] = None,
    hung: Annotated[
        str | None,
        typer.Option("--hung", metavar="DATE", help="When it was hung; once told, it is remembered."),
    ] = None,
    taken: Annotated[bool, typer.Option("--taken", help="It was taken down then.")] = False,
    zone: ZoneOption = None,
    *,
    entry: Happening,
) -> None:
    """Record a sticky card: hung, looked at, taken down."""
    from outpace.season.upkeep import card as from_words

    with entry.open_book() as opened:
        entered = from_words(
            door.known(opened),
            house,
            name,
            winged=winged,
            hung=hung,
            taken=taken,
            zone=zone,
            on=entry.on,
            farm=entry.farm,
        )
        entry.record(opened, entered)


def harvest(
    house: HouseArgument,
    code: Annotated[str, typer.Argument(metavar="CODE", help="The code that goes with it to the buyer.")],
    amount: Annotated[float | None, typer.Option("--amount", min=0, help="How much.")] = None,
    unit: Annotated[
        str | None, typer.Option("--unit", metavar="UNIT", help="Such as kg, crates, heads.")
    ] = None,
    zone: ZoneOption = None,
    *,
    entry: Happening,
) -> None:
    """Record a harvest with its code; `outpace trace CODE` then shows what is behind it."""
    from outpace.season.upkeep import harvest as from_words

    with entry.open_book() as opened:
        entered = from_words(
            door.known(opened), house, code, amount=amount, unit=unit, zone=zone, on=entry.on, farm=entry.farm
        )
        entry.record(opened, entered)


def decide(
    house: HouseArgument,
    chosen: Annotated[str, typer.Argument(metavar="WHAT", help='What was decided, in words: "wait a week".')],
    reason: Annotated[str | None, typer.Option("--because", metavar="TEXT", help="Why.")] = None,
    verdict: Annotated[
        Literal["Holding", "Unclear", "Losing"] | None,
        typer.Option("--verdict", help="What the page of the house said then."),
    ] = None,
    person: PersonOption = None,
    *,
    entry: Happening,
) -> None:
    """Record a decision with its reason; to wait is one too."""
    from outpace.season.upkeep import decision as from_words

    with entry.open_book() as opened:
        entered = from_words(
            door.known(opened),
            house,
            chosen,
            reason=reason,
            verdict=verdict,
            person=person or door.person(entry.by),
            on=entry.on,
            farm=entry.farm,
        )
        entry.record(opened, entered)


def permit(
    enemy: Annotated[
        str, typer.Argument(metavar="ENEMY", help="The enemy: Latin or English name, or EPPO code.")
    ],
    seen: Annotated[
        Literal["yes", "no"], typer.Option("--seen", help="Did you see the permit or list entry?")
    ] = "yes",
    number: Annotated[str | None, typer.Option("--number", metavar="NUMBER", help="Its number.")] = None,
    country: Annotated[
        str | None, typer.Option("--country", metavar="CODE", help="Two letters; left out: the farm's.")
    ] = None,
    on: OnOption = None,
    *,
    entry: Change,
) -> None:
    """Record that the permit or list entry of an enemy was looked up."""
    from outpace.season.upkeep import permit as from_words

    with entry.open_book() as opened:
        entered = from_words(
            door.known(opened),
            enemy,
            seen=seen == "yes",
            number=number,
            country=country,
            on=on,
            farm=entry.farm,
        )
        entry.record(opened, entered)
