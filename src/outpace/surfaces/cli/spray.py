"""Sprays of every kind: written down with what the label says, and shown with what they hold back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal, get_args

import typer

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.cli import door
from outpace.surfaces.cli.options import (
    HouseArgument,
    MinutesOption,
    ZoneOption,
)
from outpace.surfaces.cli.tails import AskedWithSources, Correction

Kind = Literal["insecticide", "fungicide", "sulphur", "soap", "leaf feed", "disinfectant", "fogger", "other"]
KIND_HELP = f"What it was: {', '.join(get_args(Kind))}. All of these are sprays."


def _share(option: str, help_text: str) -> Any:
    return typer.Option(option, min=0, max=1, metavar="SHARE", help=help_text)


def add(
    house: HouseArgument,
    start: Annotated[
        str | None,
        typer.Option("--start", metavar="TIME", help="When it began, or is to begin. Left out: now."),
    ] = None,
    end: Annotated[
        str | None,
        typer.Option("--end", metavar="TIME", help="When it ended. Until this is told no clock starts."),
    ] = None,
    kind: Annotated[
        Kind | None,
        typer.Option("--kind", metavar="KIND", help=KIND_HELP),
    ] = None,
    product: Annotated[
        str | None, typer.Option("--product", metavar="NAME", help="The product, as on its label.")
    ] = None,
    registration: Annotated[
        str | None, typer.Option("--registration", metavar="NUMBER", help="Its registration number.")
    ] = None,
    active: Annotated[str | None, typer.Option("--active", metavar="NAME", help="The active in it.")] = None,
    group: Annotated[
        str | None, typer.Option("--group", metavar="CODE", help="Its mode-of-action group.")
    ] = None,
    reentry: Annotated[
        float | None, typer.Option("--reentry-h", min=0, metavar="HOURS", help="Label: hours to keep out.")
    ] = None,
    harvest: Annotated[
        float | None,
        typer.Option("--harvest-days", min=0, metavar="DAYS", help="Label: days not to pick."),
    ] = None,
    bees_out_until: Annotated[
        str | None,
        typer.Option("--bees-out-until", metavar="TIME", help="Hive closed or out, until when?"),
    ] = None,
    residue_days: Annotated[
        float | None,
        typer.Option("--residue-days", min=0, metavar="DAYS", help="Days for which it harms enemies."),
    ] = None,
    residue: Annotated[
        float | None, _share("--residue", "Share of enemies the residue kills on the first day, 0 to 1.")
    ] = None,
    kill_enemy: Annotated[
        float | None, _share("--kill-enemies", "Share of enemies it kills at once, 0 to 1.")
    ] = None,
    kill_pest: Annotated[
        float | None, _share("--kill-aphids", "Share of aphids it kills at once, 0 to 1.")
    ] = None,
    zone: ZoneOption = None,
    crop: Annotated[
        str | None, typer.Option("--crop", metavar="NAME", help="The crop. Left out: that of the house.")
    ] = None,
    bbch: Annotated[
        int | None, typer.Option("--bbch", min=0, max=999, help="Growth stage by the BBCH scale.")
    ] = None,
    dose: Annotated[
        float | None, typer.Option("--rate", min=0, metavar="NUMBER", help="The rate that was applied.")
    ] = None,
    dose_unit: Annotated[
        str | None, typer.Option("--rate-unit", metavar="UNIT", help="Its unit: ml/l, kg/ha ...")
    ] = None,
    amount: Annotated[
        float | None, typer.Option("--amount", min=0, metavar="NUMBER", help="How much was used in all.")
    ] = None,
    area: Annotated[
        float | None, typer.Option("--area", min=0, metavar="M2", help="The area that was treated, in m².")
    ] = None,
    wind: Annotated[
        str | None, typer.Option("--wind", metavar="TEXT", help="Wind, where the house stood open.")
    ] = None,
    reason: Annotated[str | None, typer.Option("--reason", metavar="TEXT", help="Why it was done.")] = None,
    operator: Annotated[
        str | None, typer.Option("--operator", metavar="NAME", help="Who applied it.")
    ] = None,
    licence: Annotated[
        str | None, typer.Option("--licence", metavar="NUMBER", help="Licence of who applied it.")
    ] = None,
    minutes: MinutesOption = None,
    spray: Annotated[
        str | None,
        typer.Option("--spray", metavar="KEY", help="Complete this spray of the book instead of a new one."),
    ] = None,
    *,
    entry: Correction,
) -> None:
    """Record a spray. Fungicide, sulphur, soap, leaf feed, disinfectant, fogger count too.

    Write down what its label says; what you leave out acts as danger: keep out, do not pick, no release.
    """
    from outpace.season.spray import spray_from_words

    told: dict[str, Any] = {
        "zone": zone,
        "crop": crop,
        "bbch": bbch,
        "kind": kind,
        "product": product,
        "registration_no": registration,
        "active": active,
        "action_group": group,
        "dose": dose,
        "dose_unit": dose_unit,
        "amount_total": amount,
        "area_m2": area,
        "wind": wind,
        "reason": reason,
        "operator": operator,
        "operator_licence": licence,
        "reentry_h": reentry,
        "harvest_interval_d": harvest,
        "kill_pest_share": kill_pest,
        "kill_enemy_share": kill_enemy,
        "residual_enemy_share": residue,
        "residual_d": residue_days,
        "minutes": minutes,
    }
    with entry.open_book() as opened:
        entered = spray_from_words(
            door.known(opened),
            house,
            told,
            start=start,
            end=end,
            bees_out_until=bees_out_until,
            spray=spray,
            farm=entry.farm,
        )
        entry.record(opened, entered, changes=spray is not None)


def show(
    house: Annotated[
        str | None, typer.Argument(metavar="HOUSE", help="The house, by its name. Left out: all.")
    ] = None,
    posting: Annotated[
        Path | None,
        typer.Option("--posting", metavar="FILE", help="Print the posting sheet for those who work there."),
    ] = None,
    sign: Annotated[
        Path | None,
        typer.Option("--sign", metavar="FILE", help="Print the sign for visitors and children."),
    ] = None,
    *,
    asked: AskedWithSources,
) -> None:
    """Show the sprays of a house: when to go in, pick and release, and what they clash with."""
    if (posting or sign) and house is None:
        raise OutpaceError(
            say("a sheet hangs at one house, and none was named"),
            hint=say("begin with its name: `outpace spray show HOUSE --posting FILE`"),
            code=ExitCode.USAGE,
        )
    from outpace.season.spray_standing import spray_answer
    from outpace.surfaces.text.spray import render

    with asked.snapshot() as snapshot:
        answer = spray_answer(snapshot, house, farm=asked.farm)
    if posting or sign:
        from outpace.surfaces.sheets.spray_signs import write_posting, write_sign

        if posting:
            write_posting(answer, posting, head=snapshot.head)
            door.say(say("posting sheet: {file}", file=posting))
        if sign:
            write_sign(answer, sign, head=snapshot.head)
            door.say(say("sign: {file}", file=sign))
    asked.show(answer, lambda told: render(told, sources=asked.sources))
