"""How the person at this computer wants to be told things, kept between two commands.

The file stands beside the book, not in it: it is the reader's own, and a book is read by several.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.language import UNITS, languages, say
from outpace.records.folder import data_folder

Answer = dict[str, Any]

NAMES = ("language", *UNITS)
NOT_CHOSEN = "none"
"""What takes a choice back."""


def place() -> Path:
    """Return where the settings are kept: what ``OUTPACE_SETTINGS`` names, else beside the book."""
    named = os.environ.get("OUTPACE_SETTINGS", "").strip()
    return Path(named) if named else data_folder() / "settings.json"


def kept() -> dict[str, str]:
    """Return what was chosen; a file that cannot be read counts as nothing chosen, so that commands still answer."""
    try:
        found = json.loads(place().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {name: value for name, value in found.items() if name in NAMES and isinstance(value, str)}


def keep(chosen: Mapping[str, str | None]) -> dict[str, str]:
    """Keep what was chosen beside what was chosen before; ``none`` takes a choice back.

    Raises
    ------
    OutpaceError
        If a value is not among those allowed, or the file cannot be written.
    """
    told = kept()
    for name, value in chosen.items():
        if value is None:
            continue
        allowed = languages() if name == "language" else UNITS[name]
        if value == NOT_CHOSEN:
            told.pop(name, None)
        elif value in allowed:
            told[name] = value
        else:
            raise OutpaceError(
                f"{value!r}",
                where=f"`--{name}`",
                allowed=say("one of {choices}", choices=", ".join((*allowed, NOT_CHOSEN))),
                code=ExitCode.USAGE,
            )
    path = place()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside = path.with_name(f"{path.name}.part")
        beside.write_text(json.dumps(told, indent=2) + "\n", encoding="utf-8")
        os.replace(beside, path)
    except OSError as error:
        raise OutpaceError(
            say("the settings cannot be written: {why}", why=error.strerror or str(error)),
            where=str(path),
            hint=say("name another file in `OUTPACE_SETTINGS`"),
        ) from None
    return told


def settings_answer() -> Answer:
    """Return the answer of ``outpace settings``: what was chosen, None where nothing was."""
    told = kept()
    return {
        "schema": "outpace.settings/1",
        "file": str(place()),
        **{name: told.get(name) for name in NAMES},
    }
