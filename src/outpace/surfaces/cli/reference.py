"""The command reference, written from the commands themselves: `docs/cli.md`."""

from __future__ import annotations

import contextlib
import io
import os
from unittest.mock import patch

from outpace.errors import ExitCode
from outpace.surfaces.cli.main import command_names, outcome

HEAD = """# Commands

This page is generated from the program: `python -m outpace.surfaces.cli.reference > docs/cli.md`.

What a command answers goes to stdout, what it says on the way to stderr. An answer that decides something
begins with its one sentence: a verb, a day, a number. With `--json` it is printed as JSON in the layout that
its `schema` names; the layouts are in `src/outpace/surfaces/schemas/`. Days are ISO 8601 (`2026-04-20`) in
the time of the farm; `today` and `yesterday` work too. `OUTPACE_BOOK` names the book, `OUTPACE_BY` who
records.

| exit code | meaning |
|---|---|
"""

MEANINGS = {
    ExitCode.FINE: "done",
    ExitCode.FAILED: "not done; stderr says why and what to do",
    ExitCode.USAGE: "the command was not understood, or names something that does not exist",
    ExitCode.ACTION_DUE: "done, and something is left to do: a conflict to confirm, a task (`--due-exit`)",
}


def help_text(name: str) -> str:
    """Return what a command prints with ``--help``, 80 columns wide whatever the terminal."""
    told = io.StringIO()
    with patch.dict(os.environ, {"COLUMNS": "80"}), contextlib.redirect_stdout(told):
        code = outcome([*name.split(), "--help"])
    assert code == ExitCode.FINE
    return told.getvalue().rstrip()


def text() -> str:
    """Return the whole page."""
    lines = [HEAD + "".join(f"| {int(code)} | {meaning} |\n" for code, meaning in MEANINGS.items())]
    lines += [f"## `outpace {name}`\n\n```text\n{help_text(name)}\n```\n" for name in command_names()]
    return "\n".join(lines)


if __name__ == "__main__":
    print(text(), end="")
