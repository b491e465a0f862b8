"""Help and usage errors in the language spoken now; nothing is translated until somebody asks for it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import typer.core
from typer.core import TyperCommand, TyperGroup

from outpace.language import say, to_say

# Labels of the library itself ("Options", "default: {default}") pass through this name of its own module.
vars(typer.core)["_"] = say

LABELS = (
    to_say("Arguments"),
    to_say("Commands"),
    to_say("Options"),
    to_say("default: {default}"),
    to_say("env var: {var}"),
    to_say("required"),
    to_say("[OPTIONS]"),
    to_say("COMMAND [ARGS]..."),
)
"""What the library writes into a help page by itself."""


class Spoken(TyperCommand):
    """A command that says its help in the language spoken now."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the page, each text of the command and its options in its language first."""
        tell(self)
        super().format_help(ctx, formatter)

    def format_usage(self, ctx: Any, formatter: Any) -> None:
        """Write the line that shows how the command is typed."""
        write_usage(self, ctx, formatter)

    def get_help_option(self, ctx: Any) -> Any:
        """Return the option that asks for help, its own text in the language too."""
        return told_option(super().get_help_option(ctx))


class SpokenGroup(TyperGroup):
    """A group of commands that says its help, and the first lines of its parts, in the language spoken now."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the page, each text of the group and its parts in its language first."""
        tell(self)
        for part in self.commands.values():
            part.short_help = say(part.short_help or "")
        super().format_help(ctx, formatter)

    def format_usage(self, ctx: Any, formatter: Any) -> None:
        """Write the line that shows how the group is typed."""
        write_usage(self, ctx, formatter)

    def get_help_option(self, ctx: Any) -> Any:
        """Return the option that asks for help, its own text in the language too."""
        return told_option(super().get_help_option(ctx))


def tell(command: Any) -> None:
    """Put the texts of one command and its options into the language spoken now."""
    command.help = say(command.help or "")
    for option in command.params:
        option.help = say(getattr(option, "help", None) or "")


def write_usage(command: Any, ctx: Any, formatter: Any) -> None:
    """Write how a command is typed."""
    pieces = [say(piece) if piece in LABELS else piece for piece in command.collect_usage_pieces(ctx)]
    formatter.write_usage(ctx.command_path, " ".join(pieces), prefix=say("Usage: "))


def told_option(option: Any) -> Any:
    """Return the help option with its text in the language spoken now."""
    if option is not None:
        option.help = say("Show this message and exit.")
    return option


def texts_of(command: Any) -> Iterator[str]:
    """Yield every text of a command, its options and its parts, as it stands in the code."""
    yield from (text for text in (command.help, command.short_help) if text)
    yield from (text for option in command.params if (text := getattr(option, "help", None)))
    for part in getattr(command, "commands", {}).values():
        yield from texts_of(part)


USAGE = (
    (
        r"No such option: (?P<option>\S+) \(Possible options: (?P<near>.*)\)",
        to_say("no such option: {option} (near: {near})"),
    ),
    (r"No such option: (?P<option>.*)", to_say("no such option: {option}")),
    (r"No such command '(?P<command>[^']*)'.*", to_say("no such command {command!r}")),
    (r"Missing argument '(?P<name>[^']*)'.*", to_say("missing argument {name!r}")),
    (r"Missing option '(?P<name>[^']*)'.*", to_say("missing option {name!r}")),
    (r"Missing command.*", to_say("missing command")),
    (r"Got unexpected extra argument\(?s?\)? \((?P<words>.*)\)", to_say("unexpected words: {words}")),
    (r"Option '(?P<option>[^']*)' requires .*", to_say("option {option!r} requires a value")),
    (r"Option '(?P<option>[^']*)' does not take a value", to_say("option {option!r} takes no value")),
)
"""What the library says of a command that it could not read, and how it is said here."""

WRONG = (
    (r"Input should be a valid number.*", to_say("must be a number")),
    (r"Input should be a valid integer.*", to_say("must be a whole number")),
    (r"Input should be greater than or equal to (?P<limit>\S+)", to_say("must be at least {limit}")),
    (r"Input should be less than or equal to (?P<limit>\S+)", to_say("must be at most {limit}")),
    (r"Input should be greater than (?P<limit>\S+)", to_say("must be above {limit}")),
    (r"Input should be less than (?P<limit>\S+)", to_say("must be below {limit}")),
    (
        r"(?:Value error, )?(?P<value>'.*') is not one of (?P<choices>.*)",
        to_say("{value} is not one of {choices}"),
    ),
)
"""What the library says of a value."""


def usage(message: str) -> str:
    """Return what a person reads of a command that could not be read, in the language spoken now.

    Examples
    --------
    >>> usage("No such option: --jsn"), usage("Invalid value for '--days': Input should be a valid integer, got 'x'")
    ('no such option: --jsn', "invalid value for '--days': must be a whole number")
    """
    message = message.rstrip(".")
    found = re.fullmatch(r"Invalid value(?: for '(?P<option>.*?)')?: (?P<rest>.*)", message, re.DOTALL)
    if found:
        rest = _said(found["rest"], WRONG, str)
        return (
            say("invalid value for {option!r}: {rest}", option=found["option"], rest=rest)
            if found["option"]
            else say("invalid value: {rest}", rest=rest)
        )
    return _said(message, USAGE, lambda text: text[:1].lower() + text[1:])


def _said(message: str, known: tuple[tuple[str, str], ...], otherwise: Callable[[str], str]) -> str:
    for pattern, text in known:
        found = re.fullmatch(pattern, message, re.DOTALL)
        if found:
            return say(text, **found.groupdict()) if found.groupdict() else say(text)
    return otherwise(message)
