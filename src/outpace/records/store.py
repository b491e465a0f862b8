"""Where a book is kept: its default place, and copies that are checked."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from outpace.records.backup import backup, restore
from outpace.records.book import Book

__all__ = ["Book", "backup", "data_folder", "default_book_url", "restore"]


def default_book_url() -> str:
    """Return what ``OUTPACE_BOOK`` names, else the file ``farm.book`` in the user's data folder."""
    named = os.environ.get("OUTPACE_BOOK", "").strip()
    if named:
        return named
    return str(data_folder() / "farm.book")


def data_folder() -> Path:
    """Return the folder of outpace among the user's data."""
    return _data_folder() / "outpace"


def _data_folder() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
