"""Photos of a walk: kept as they came, beside the book, under the name that the count's note tells."""

from __future__ import annotations

import re
from pathlib import Path

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.records.store import default_book_url

LARGEST_BYTES = 12_000_000
NAME = re.compile(r"[0-9a-f]{16,40}")
KINDS = ((b"\xff\xd8\xff", "jpg"), (b"\x89PNG\r\n\x1a\n", "png"))


def folder_of(book_url: str) -> Path:
    """Return where the photos of a book are: beside its file, or with the user's data for a database server."""
    place = str(default_book_url()) if "://" in book_url else book_url
    path = Path(place).expanduser()
    return path.with_name(f"{path.name}.photos")


def kind_of(content: bytes) -> str | None:
    """Return the ending of a picture's name by how it begins, None where it is none that is kept.

    Examples
    --------
    >>> kind_of(b"\\xff\\xd8\\xff\\xe0"), kind_of(b"RIFF0000WEBPVP8 "), kind_of(b"<html>")
    ('jpg', 'webp', None)
    """
    for start, ending in KINDS:
        if content.startswith(start):
            return ending
    return "webp" if content[:4] == b"RIFF" and content[8:12] == b"WEBP" else None


def keep_photo(book_url: str, name: str, content: bytes) -> Path:
    """Keep a photo under its name; sent again it changes nothing.

    Raises
    ------
    OutpaceError
        If it is no picture, is too large, or another picture bears its name.
    """
    if not NAME.fullmatch(name):
        raise OutpaceError(
            say("{name!r} is no name of a photo", name=name[:60]),
            allowed=say("16 to 40 of the digits 0 to 9 and a to f"),
            code=ExitCode.USAGE,
        )
    ending = kind_of(content)
    if ending is None or len(content) > LARGEST_BYTES:
        raise OutpaceError(
            say("{content:.1f} MB", content=len(content) / 1e6) if ending else say("no picture"),
            where=say("photo {name}", name=name),
            allowed=say("JPEG, PNG or WebP up to {largest_bytes:.0f} MB", largest_bytes=LARGEST_BYTES / 1e6),
            hint=say("take it again; the count is kept without it"),
            code=ExitCode.USAGE,
        )
    folder = folder_of(book_url)
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.{ending}"
    if path.exists():
        if path.read_bytes() != content:
            raise OutpaceError(
                say("another picture has this name"),
                where=say("photo {name}", name=name),
                hint=say("take it again"),
            )
        return path
    part = path.with_suffix(".part")
    part.write_bytes(content)
    part.replace(path)
    return path


def photo(book_url: str, name: str) -> tuple[bytes, str] | None:
    """Return a kept photo and its ending."""
    if not NAME.fullmatch(name):
        return None
    for path in folder_of(book_url).glob(f"{name}.*"):
        if path.suffix != ".part":
            return path.read_bytes(), path.suffix[1:]
    return None
