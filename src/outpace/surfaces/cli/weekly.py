"""The week's decision: what stands ahead, what a walk proves, what to do, what to buy, what to send."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say, say_many
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    ByOption,
    HouseArgument,
)
from outpace.surfaces.cli.tails import Asked, AskedWithSources

HousesOption = Annotated[
    list[str] | None,
    typer.Option("--house", metavar="HOUSE", help="Only this house; may be given several times."),
]
BudgetOption = Annotated[
    float | None,
    typer.Option(
        "--budget",
        min=0,
        metavar="MONEY",
        help="Spend at most this on the whole plan: packs, freight and labour together.",
    ),
]
BelowOption = Annotated[
    bool,
    typer.Option(
        "--below-published",
        help="Allow plans cheaper than any published rate, untested on your farm.",
    ),
]


KeepOption = Annotated[
    bool,
    typer.Option("--keep", help="Keep the forecast in the book, so that `outpace review` can score it."),
]


def _keep(asked: Asked, houses: list[str] | None, by: str | None) -> None:
    """Keep the forecasts of some houses or of all, as they stand now."""
    from outpace.season.kept_forecasts import keep_forecasts

    if asked.as_of:
        raise OutpaceError(
            say("a forecast cannot be kept as made on a day that has passed"),
            where=say("`--keep` with `--as-of`"),
            hint=say("leave out `--as-of`, or score past seasons with `outpace review --replay`"),
            code=ExitCode.USAGE,
        )
    with door.book_at(asked.book) as opened:
        entered = keep_forecasts(door.known(opened), farm=asked.farm, houses=houses)
        if entered.rows:
            opened.record(entered.rows, by=door.person(by))
    door.say(entered.sentence)


def week(
    houses: HousesOption = None,
    sheets: Annotated[
        Path | None,
        typer.Option("--sheets", metavar="DIR", help="Write one printable page a house there, PDF."),
    ] = None,
    calendar: Annotated[
        Path | None, typer.Option("--calendar", metavar="FILE", help="Write the tasks as an iCalendar file.")
    ] = None,
    due_exit: Annotated[
        bool,
        typer.Option("--due-exit", help="End with exit code 3 where a task is due today or an order waits."),
    ] = False,
    keep: KeepOption = False,
    by: ByOption = None,
    *,
    asked: Asked,
) -> None:
    """Show this week for every house: how it stands, what to do, on which day; with --house for that one at once."""
    from outpace.surfaces.text.week import render

    if keep:
        _keep(asked, houses, by)
    with door.book_at(asked.book) as opened:
        answer, told = door.week_of(opened, asked.as_of, asked.farm, houses=houses)
    if sheets is not None:
        from outpace.surfaces.cli.week_files import write_sheets

        write_sheets(answer, told, sheets, progress=door.say)
    if calendar is not None:
        from outpace.surfaces.cli.week_files import write_calendar

        write_calendar(answer, calendar, progress=door.say)
    asked.show(answer, render)
    if due_exit and is_due(answer):
        raise typer.Exit(int(ExitCode.ACTION_DUE))


def is_due(answer: door.Answer) -> bool:
    """Return whether an order waits or a task is due by the day of the answer."""
    today = str(answer["as_of"])[:10]
    tasks = (task for house in answer["houses"] for task in house["tasks"])
    return bool(answer.get("orders_due")) or any(str(task["day"])[:10] <= today for task in tasks)


def ahead(
    house: HouseArgument,
    days: Annotated[
        int, typer.Option("--days", min=1, max=60, help="How many days ahead; beyond 21 it is a scenario.")
    ] = 28,
    keep: KeepOption = False,
    by: ByOption = None,
    *,
    asked: AskedWithSources,
) -> None:
    """Look ahead in one house: live aphids and mummies with their bands, and the verdict."""
    from outpace.season.ahead import ahead as answer_ahead
    from outpace.surfaces.text.ahead import render

    if keep:
        _keep(asked, [house], by)
    with asked.snapshot() as snapshot:
        answer = answer_ahead(snapshot, house, farm=asked.farm, days=days)
    asked.show(answer, lambda shown: render(shown, sources=asked.sources))


def nofinds(
    house: HouseArgument,
    confidence: Annotated[
        float,
        typer.Option("--confidence", min=0.5, max=0.999, help="How sure the limit has to be, 0.5 to 0.999."),
    ] = 0.95,
    at_least: Annotated[
        int,
        typer.Option("--at-least", min=1, help="Live aphids on a plant from which you call it infested."),
    ] = 5,
    *,
    asked: Asked,
) -> None:
    """Say what it proves that the last walk found nothing."""
    from outpace.season.no_finds import no_finds
    from outpace.surfaces.text.no_finds import render

    with asked.snapshot() as snapshot:
        answer = no_finds(snapshot, house, farm=asked.farm, confidence=confidence, at_least=at_least)
    asked.show(answer, render)


def plan(
    houses: HousesOption = None,
    budget: BudgetOption = None,
    below_published: BelowOption = False,
    others: Annotated[
        bool, typer.Option("--others", help="Show cheaper and dearer plans, ties, and the rule of thumb.")
    ] = False,
    *,
    asked: AskedWithSources,
) -> None:
    """Find the cheapest whole packs that keep each house under your level, or say that none do."""
    from outpace.season.plan import plan as answer_plan
    from outpace.surfaces.text.plan import render

    with asked.snapshot() as snapshot:
        answer = answer_plan(
            snapshot,
            farm=asked.farm,
            houses=houses or None,
            budget=budget,
            below_published=below_published,
            progress=door.say,
        )
    asked.show(answer, lambda shown: render(shown, others=others, sources=asked.sources))


def order(
    place: Annotated[
        bool,
        typer.Option(
            "--place", help="Record the orders due now as placed. Nothing is sent: you send the text."
        ),
    ] = False,
    message: Annotated[
        bool, typer.Option("--message", help="Print the messages to send and nothing else.")
    ] = False,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write every line of the orders as CSV.")
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="Write the order sheet as PDF to print.")
    ] = None,
    houses: HousesOption = None,
    budget: BudgetOption = None,
    below_published: BelowOption = False,
    by: ByOption = None,
    *,
    asked: Asked,
) -> None:
    """Write the order of each supplier as one message, and record it once it is placed."""
    from outpace.season.order import order as answer_order
    from outpace.surfaces.text.order import messages, render

    if place and asked.as_of:
        raise OutpaceError(
            say("an order cannot be placed on a day that has passed"),
            where=say("`--place` with `--as-of`"),
            hint=say("leave out `--as-of`"),
            code=ExitCode.USAGE,
        )
    with asked.snapshot() as snapshot:
        answer = answer_order(
            snapshot,
            farm=asked.farm,
            houses=houses or None,
            budget=budget,
            below_published=below_published,
            progress=door.say,
        )
    if csv is not None:
        from outpace.surfaces.cli.week_files import write_whole
        from outpace.surfaces.order_files import order_table
        from outpace.surfaces.tables import csv_bytes

        write_whole(csv, csv_bytes(order_table(answer)))
        door.say(say("written: {file}", file=csv))
    if pdf is not None:
        from outpace.surfaces.cli.week_files import write_whole
        from outpace.surfaces.sheets import forms

        write_whole(pdf, forms.order_sheet(answer, head=snapshot.head))
        door.say(say("written: {file}", file=pdf))
    if place:
        from outpace.season.parcels import placed_orders

        rows = placed_orders(snapshot, answer, farm=asked.farm)
        with door.book_at(asked.book) as opened:
            written = opened.record(rows, by=door.person(by))
        door.say(
            say_many(
                "recorded as placed: {n} row; nothing was sent, send the text below",
                "recorded as placed: {n} rows; nothing was sent, send the text below",
                written.new,
            )
        )
    asked.show(answer, messages if message else render)
