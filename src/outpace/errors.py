"""The one error for people, and the exit codes of the command line.

An error says what went wrong, where, what was got, what is allowed, and one thing to do next.
"""

from __future__ import annotations

from enum import IntEnum

from outpace.language import say

MOST_SHOWN = 20
"""So many mistakes of one reading are told one by one."""


class ExitCode(IntEnum):
    """What a command tells the shell that called it."""

    FINE = 0
    FAILED = 1
    USAGE = 2
    ACTION_DUE = 3


class OutpaceError(Exception):
    """A mistake that a person can mend, said in a way that lets them.

    Parameters
    ----------
    what : str
        What is wrong, in a few words and with the value that was got: ``temperature 78.4 °C``.
    where : str, optional
        File and row, table and column, command and option: ```bay-2.csv` row 37``.
    allowed : str, optional
        What would have been accepted: ``above the limit of 60 °C``.
    hint : str, optional
        One command or one action.
    code : ExitCode, default ExitCode.FAILED
        The exit code a command ends with.

    Examples
    --------
    >>> print(OutpaceError("area 0 m²", where="`houses.csv` row 2", allowed="must be above 0",
    ...                    hint="measure length times width").text())
    error: `houses.csv` row 2: area 0 m², must be above 0
    <BLANKLINE>
    hint: measure length times width
    """

    def __init__(
        self,
        what: str,
        *,
        where: str = "",
        allowed: str = "",
        hint: str = "",
        code: ExitCode = ExitCode.FAILED,
    ) -> None:
        self.what = what
        self.where = where
        self.allowed = allowed
        self.hint = hint
        self.code = code
        super().__init__(self.line())

    def line(self) -> str:
        """Return the error in one line, without the word "error"."""
        place = f"{self.where}: " if self.where else ""
        limit = f", {self.allowed}" if self.allowed else ""
        return f"{place}{self.what}{limit}"

    def text(self) -> str:
        """Return the whole message as the terminal shows it."""
        return say("error: {message}", message=self.line()) + hint_text(self.hint)


class ManyErrors(OutpaceError):
    """Several mistakes found in one reading, told together so that they can be mended together."""

    def __init__(self, errors: list[OutpaceError], *, hint: str = "") -> None:
        self.errors = errors
        first = errors[0]
        super().__init__(
            first.what, where=first.where, allowed=first.allowed, hint=hint or first.hint, code=first.code
        )

    def text(self) -> str:
        """Return every mistake, a line each, and one hint."""
        shown = [say("error: {message}", message=error.line()) for error in self.errors[:MOST_SHOWN]]
        if len(self.errors) > MOST_SHOWN:
            shown.append(say("and {n} more", n=len(self.errors) - MOST_SHOWN))
        return "\n".join(shown) + hint_text(self.hint)


def hint_text(hint: str) -> str:
    """Return a hint as it stands under an error, a line left free; nothing where there is none."""
    return "\n\n" + say("hint: {hint}", hint=hint) if hint else ""
