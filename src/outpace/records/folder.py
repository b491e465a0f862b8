"""Where outpace keeps what is a user's own; apart from the book, so that to ask it loads no database."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def data_folder() -> Path:
    """Return the folder of outpace among the user's data."""
    return _data_folder() / "outpace"


def _data_folder() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
