"""The command line: every command by name, and the one place where errors become words and exit codes."""

from __future__ import annotations

import difflib
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

# The help is plain text: without the coloured one it is there in half the time.
os.environ.setdefault("TYPER_USE_RICH", "0")
# Matrices are small here: a linear-algebra library that wakes all cores for each spends most of its time waiting.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import typer
from typer.exceptions import Abort, TyperException

from outpace.errors import ExitCode, OutpaceError, hint_text
from outpace.language import Manner, manner_of, mannered, say
from outpace.season.first_run import tell_of_the_wait
from outpace.season.reader_settings import kept
from outpace.surfaces.cli import (
    banker,
    book,
    climate,
    course,
    deliveries,
    door,
    farm,
    lookups,
    money,
    orders,
    paper,
    review,
    serving,
    settings,
    spray,
    trace,
    upkeep,
    walk,
    weekly,
)
from outpace.surfaces.cli.spoken import Spoken, SpokenGroup, usage
from outpace.surfaces.cli.tails import spread

Command = Callable[..., None]

INTERRUPTED = 130
"""What a shell expects of a command that Ctrl-C ended."""

COMMANDS: tuple[tuple[str, Command], ...] = (
    ("demo", serving.demo),
    ("lag", lookups.lag),
    ("card", upkeep.card),
    ("ahead", weekly.ahead),
    ("nofinds", weekly.nofinds),
    ("week", weekly.week),
    ("plan", weekly.plan),
    ("course", course.course),
    ("enemies", course.enemies),
    ("edges", course.edges),
    ("points", deliveries.points),
    ("release", deliveries.release),
    ("trace", trace.trace),
    ("review", review.review),
    ("serve", serving.serve),
    ("settings", settings.settings),
    ("backup", book.backup),
    ("restore", book.restore),
)

GROUPS: tuple[tuple[str, str, tuple[tuple[str, Command], ...]], ...] = (
    (
        "farm",
        "The farm: show it, tell the book of it, note permits. "
        "`outpace farm NAME ...` is short for `outpace farm set NAME ...`.",
        (
            ("set", farm.farm),
            ("permit", upkeep.permit),
            ("money", money.money),
            ("level", money.level),
            ("worth", course.worth),
        ),
    ),
    (
        "house",
        "Houses: show them, tell the book of one, note decisions and harvests. "
        "`outpace house NAME ...` is short for `outpace house set NAME ...`.",
        (("set", farm.house), ("decide", upkeep.decide), ("harvest", upkeep.harvest)),
    ),
    (
        "plants",
        "Plants that come in, with what their raiser sprayed.",
        (("in", upkeep.plants_in),),
    ),
    (
        "walk",
        "Walks: record one told in one line, plan the next, stop one early, put up a jar of mummies. "
        '`outpace walk "HOUSE: ..."` is short for `outpace walk record "HOUSE: ..."`.',
        (
            ("record", walk.walk),
            ("plan", walk.plan),
            ("stop", walk.stop),
            ("import", walk.import_table),
            ("jar", walk.jar),
        ),
    ),
    (
        "arrival",
        "Parcels: record one that came, its checks, and see what they are worth. "
        "`outpace arrival LOT` is short for `outpace arrival record LOT`.",
        (
            ("record", deliveries.arrival),
            ("check", deliveries.arrival_check),
            ("show", deliveries.arrival_show),
            ("share", deliveries.arrival_share),
        ),
    ),
    (
        "order",
        "Orders: write what the plan asks for as one message a supplier, order a rhythm ahead, change it. "
        "`outpace order` is short for `outpace order write`.",
        (
            ("write", weekly.order),
            ("standing", orders.standing),
            ("open", orders.open_),
            ("change", orders.change),
        ),
    ),
    (
        "climate",
        "Temperatures of a house: from a logger's file, or typed.",
        (
            ("preview", climate.preview),
            ("import", climate.import_file),
            ("typed", climate.typed),
        ),
    ),
    (
        "facts",
        "What is known, each figure with its source, and what a trial of your own tells. "
        "`outpace facts SPECIES` is short for `outpace facts show SPECIES`.",
        (("show", lookups.facts), ("fit", lookups.facts_fit), ("learned", lookups.facts_learned)),
    ),
    (
        "banker",
        "Banker plants: planned, set out, shown with the wasps they give, taken out.",
        (("add", banker.add), ("show", banker.show), ("plan", banker.plan), ("withdraw", banker.withdraw)),
    ),
    (
        "spray",
        "Sprays of every kind: fungicide, sulphur, soap, leaf feed, disinfectant, fogger too.",
        (("add", spray.add), ("show", spray.show)),
    ),
    (
        "book",
        "The book of all records: begin, import, export, check.",
        (
            ("init", book.init),
            ("import", book.import_tables),
            ("export", book.export_tables),
            ("verify", book.verify),
            ("heads", book.heads),
            ("conflicts", book.conflicts),
            ("erase-person", book.erase_person),
            ("audit", paper.audit),
            ("print", paper.print_paper),
        ),
    ),
)


FIRST_IS_MEANT = ("walk", "arrival", "order", "facts", "farm", "house")
"""Groups whose first command is meant where none is named."""
WHOLE_ALONE = ("order", "facts", "farm", "house")
"""Groups whose first command is meant even where nothing is named."""


class WithFirst(SpokenGroup):
    """A group whose first command takes what names no command: `outpace arrival LOT` records a lot."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Put the first command before what names none, options of it included."""
        alone = not args and not self.no_args_is_help
        if alone or (args and args[0] not in (*self.commands, "--help", "-h")):
            args = [next(iter(self.commands)), *args]
        return super().parse_args(ctx, args)


def build_app() -> typer.Typer:
    """Return the application with all its commands."""
    app = typer.Typer(
        name="outpace",
        cls=SpokenGroup,
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 80},
    )
    for name, command in COMMANDS:
        app.command(name, cls=Spoken, short_help=_first_line(command))(spread(command))
    for name, text, commands in GROUPS:
        kind = WithFirst if name in FIRST_IS_MEANT else SpokenGroup
        group = typer.Typer(
            cls=kind,
            help=text,
            short_help=text.partition(" `outpace ")[0],
            no_args_is_help=name not in WHOLE_ALONE,
            rich_markup_mode=None,
        )
        for part, command in commands:
            group.command(part, cls=Spoken, short_help=_first_line(command))(spread(command))
        app.add_typer(group, name=name)
    app.callback()(version)
    return app


def _first_line(command: Callable[..., None]) -> str:
    return (command.__doc__ or "").splitlines()[0]


def _print_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version as installed

        print(f"outpace {installed('outpace')}")
        raise typer.Exit


def version(
    shown: bool = typer.Option(
        False, "--version", help="Print the version and end.", callback=_print_version, is_eager=True
    ),
) -> None:
    """Keep aphids under cover in check with released natural enemies: forecast, plan, order, records."""


def command_names() -> tuple[str, ...]:
    """Return every command as it is typed, groups with their parts."""
    parts = tuple(f"{name} {part}" for name, _, commands in GROUPS for part, _ in commands)
    return tuple(name for name, _ in COMMANDS) + parts


def _command_of(typed: Sequence[str]) -> str:
    """Return the command that was typed, with its part where it has parts.

    Examples
    --------
    >>> _command_of(["farm", "permit", "aphidius_ervi", "--seen"]), _command_of(["--none"])
    ('outpace farm permit', 'outpace')
    """
    known = command_names()
    for words in (2, 1):
        name = " ".join(typed[:words])
        if len(typed) >= words and any(name in (each, each.split()[0]) for each in known):
            return f"outpace {name}"
    return "outpace"


def _usage_text(error: TyperException, typed: Sequence[str] = ()) -> str:
    message = error.format_message()
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else _command_of(typed)
    hint = say("`{path} --help` shows what it takes", path=path)
    if "No such command" in message:
        word = message.split("'")[1] if "'" in message else ""
        near = difflib.get_close_matches(word, [name.split()[0] for name in command_names()], n=2, cutoff=0.5)
        if near:
            names = [f"`outpace {name}`" for name in dict.fromkeys(near)]
            hint = say("did you mean {names}?", names=say(" or ").join(names))
    return say("error: {message}", message=usage(message)) + hint_text(hint)


def run(arguments: Sequence[str] | None = None) -> None:
    """Run one command and leave with its exit code; a mistake that a person can mend shows no traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    sys.exit(outcome(arguments))


def outcome(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    typed = list(sys.argv[1:] if arguments is None else arguments)
    with mannered(manner_here(for_program="--json" in typed)):
        tell_of_the_wait(door.say)
        return _outcome(typed)


def manner_here(*, for_program: bool) -> Manner:
    """Return how this terminal is told things; a program hears English and SI, and is heard in the same units."""
    chosen = kept()
    language = chosen.pop("language", "")
    if os.environ.get("OUTPACE_LANGUAGE") or not language:
        language = spoken_here()
    told = manner_of("en" if for_program else language, **chosen)
    return replace(told, decimal=".", si=True) if for_program else told


def spoken_here() -> str:
    """Return the language of this terminal: as ``OUTPACE_LANGUAGE`` says, else as its locale."""
    told = (os.environ.get(name) for name in ("OUTPACE_LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"))
    return next((name for name in told if name), "en")


def _outcome(arguments: Sequence[str]) -> int:
    try:
        code = build_app()(
            args=list(arguments),
            prog_name="outpace",
            standalone_mode=False,
        )
        sys.stdout.flush()
    except OutpaceError as error:
        print(error.text(), file=sys.stderr)
        return int(error.code)
    except TyperException as error:
        if type(error).__name__ == "NoArgsIsHelpError":
            print(error.format_message())
            return int(ExitCode.USAGE)
        print(_usage_text(error, arguments), file=sys.stderr)
        return int(ExitCode.USAGE)
    except Abort:
        code = INTERRUPTED
    except BrokenPipeError:
        # The reader of a pipe has left: no more can be told, and nothing went wrong.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return int(ExitCode.FINE)
    if code == INTERRUPTED:
        print(say("ended"), file=sys.stderr)
    return int(code) if isinstance(code, int) else int(ExitCode.FINE)
