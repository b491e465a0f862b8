"""Where a book is kept: its default place, and copies that are checked."""

from __future__ import annotations

import os

from outpace.records.backup import backup, restore
from outpace.records.book import Book
from outpace.records.folder import data_folder

__all__ = ["Book", "backup", "data_folder", "default_book_url", "restore"]


def default_book_url() -> str:
    """Return what ``OUTPACE_BOOK`` names, else the file ``farm.book`` in the user's data folder."""
    named = os.environ.get("OUTPACE_BOOK", "").strip()
    if named:
        return named
    return str(data_folder() / "farm.book")
