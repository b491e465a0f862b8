"""The files of a data package, opened with care: a folder, a zip, or CSV files alone.

Sizes are limited before and while reading, and names in a zip may not lead out of it.
"""

from __future__ import annotations

import csv
import io
import re
import stat
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path, PurePosixPath
from typing import IO, Any

from outpace.errors import OutpaceError
from outpace.language import say, say_many
from outpace.records.package_limits import (
    DESCRIPTOR,
    MOST_BYTES_DESCRIPTOR,
    MOST_BYTES_FILE,
    MOST_BYTES_TOTAL,
    MOST_FILES,
    listed_in,
    name_listed,
    refuse_absent,
    refuse_member,
    refuse_path,
    resources_of,
    too_large,
)
from outpace.terms.tables import TABLES

LONGEST_CELL = 20_000
#: Tables that hold the history; see :mod:`outpace.records.past`.
HISTORY_TABLES = ("events", "people", "climate_past")
PART = re.compile(r"(?P<table>[a-z_]+?)(-[0-9a-z_-]+)?\.csv", re.IGNORECASE)


class Counted(io.RawIOBase):
    """A stream that refuses to give more bytes than its limit, whatever the file said about itself."""

    def __init__(self, inner: IO[bytes], limit: int, shown: str) -> None:
        self._inner, self._left, self._limit, self._shown = inner, limit, limit, shown

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        piece = self._inner.read(len(buffer))
        self._left -= len(piece)
        if self._left < 0:
            raise too_large(self._shown, self._limit)
        buffer[: len(piece)] = piece
        return len(piece)

    def close(self) -> None:
        self._inner.close()
        super().close()


@dataclass(frozen=True, slots=True)
class Source:
    """One CSV file: the table it holds, the name to show, and where its bytes are."""

    table: str
    shown: str
    path: Path | None = None
    member: str | None = None


@dataclass(slots=True)
class Package:
    """The CSV files found, in the order of the book's tables."""

    sources: list[Source] = field(default_factory=list)
    archive: zipfile.ZipFile | None = None

    @contextmanager
    def rows(self, source: Source) -> Iterator[Iterator[list[str]]]:
        """Yield the rows of a file as lists of cells; the first is the header."""
        with self._bytes(source) as raw:
            start = raw.peek(4)[:4]
            if not start:
                raise OutpaceError(
                    say("is empty"),
                    where=f"`{source.shown}`",
                    allowed=say("needs a header and rows"),
                    hint=say("write the file again, or leave it out"),
                )
            if start[:2] in (b"\xff\xfe", b"\xfe\xff"):
                raise _not_utf8(source.shown, say("is UTF-16"))
            if start[:2] == b"PK" or start[:4] == b"\xd0\xcf\x11\xe0":
                raise OutpaceError(
                    say("is a spreadsheet file"),
                    where=f"`{source.shown}`",
                    allowed=say("must be CSV"),
                    hint=say("save it as CSV UTF-8"),
                )
            text = io.TextIOWrapper(raw, encoding="utf-8-sig", newline="")
            yield self._parsed(text, source.shown)

    def _parsed(self, text: IO[str], shown: str) -> Iterator[list[str]]:
        number = 0
        before = csv.field_size_limit(LONGEST_CELL)
        try:
            for row in csv.reader(text, strict=True):
                number += 1
                yield row
        except UnicodeDecodeError as error:
            raise _not_utf8(
                shown,
                say(
                    "is not UTF-8 (byte 0x{byte:02x} after row {number})",
                    byte=error.object[error.start],
                    number=number,
                ),
            ) from error
        except csv.Error as error:
            raise OutpaceError(
                f"{error}",
                where=say("`{shown}` after row {number}", shown=shown, number=number),
                allowed=say("must be CSV with cells up to 20000 characters"),
            ) from error
        finally:
            csv.field_size_limit(before)

    @contextmanager
    def _bytes(self, source: Source) -> Iterator[Any]:
        inner: IO[bytes]
        try:
            if source.path is not None:
                inner = source.path.open("rb")
            else:
                assert self.archive is not None
                assert source.member is not None
                inner = self.archive.open(source.member)
            with io.BufferedReader(Counted(inner, MOST_BYTES_FILE, source.shown), 1 << 16) as stream:
                yield stream
        except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as error:
            raise OutpaceError(
                say("cannot be unpacked: {error}", error=error),
                where=f"`{source.shown}`",
                hint=say("make the zip anew"),
            ) from error

    def close(self) -> None:
        if self.archive is not None:
            self.archive.close()


def _not_utf8(shown: str, what: str) -> OutpaceError:
    return OutpaceError(
        what,
        where=f"`{shown}`",
        allowed=say("must be UTF-8"),
        hint=say("save it again as CSV UTF-8"),
    )


@contextmanager
def open_package(place: str | Path | Sequence[str | Path]) -> Iterator[Package]:
    """Yield the CSV files of a folder, a zip, or a list of CSV files, checked but not yet read.

    Raises
    ------
    OutpaceError
        For a name that leads elsewhere, a size above its limit, an unknown table, a table given twice.
    """
    places = [Path(place)] if isinstance(place, (str, Path)) else [Path(item) for item in place]
    package = Package()
    try:
        for path in places:
            if not path.exists():
                raise OutpaceError(
                    say("`{path}` does not exist", path=path), hint=say("name a folder, a zip or CSV files")
                )
            if path.is_dir():
                _take_folder(package, path)
            elif path.suffix.lower() == ".zip":
                if len(places) > 1:
                    raise OutpaceError(
                        say("`{path}` beside other files", path=path), allowed=say("a zip is imported alone")
                    )
                _take_zip(package, path)
            elif path.suffix.lower() == ".csv":
                _take_file(package, path, path.name)
            else:
                raise OutpaceError(
                    say("`{name}` is neither a folder, a zip nor CSV", name=path.name),
                    hint=say("name a folder, a zip or CSV files"),
                )
        if not package.sources:
            raise OutpaceError(
                say("holds no table of the book"),
                where=f"`{places[0]}`" if places else "",
                allowed=say("tables: {tables}", tables=", ".join(f"{name}.csv" for name in TABLES)),
            )
        order = [*HISTORY_TABLES, *TABLES]
        package.sources.sort(key=lambda source: (order.index(source.table), source.shown))
        yield package
    finally:
        package.close()


def _table_name(shown: str, named: str | None = None) -> str:
    name = PurePosixPath(shown).name
    found = PART.fullmatch(named or name)
    table = found["table"].lower() if found else ""
    if table in TABLES or table in HISTORY_TABLES:
        return table
    near = get_close_matches(Path(name).stem.lower(), TABLES, n=1)
    raise OutpaceError(
        say("`{shown}` is no table of the book", shown=shown),
        allowed=say("tables: {tables}", tables=", ".join(TABLES)),
        hint=say("did you mean `{near}.csv`?", near=near[0])
        if near
        else say("name the file after the table it holds"),
    )


def _take_file(package: Package, path: Path, shown: str, named: str | None = None) -> None:
    found = path.stat()
    if not stat.S_ISREG(found.st_mode):
        raise OutpaceError(say("`{shown}` is no plain file", shown=shown), allowed=say("must be a CSV file"))
    if found.st_size > MOST_BYTES_FILE:
        raise too_large(shown, MOST_BYTES_FILE, found.st_size)
    if found.st_size == 0:
        raise OutpaceError(
            say("is empty"),
            where=f"`{shown}`",
            allowed=say("needs a header and rows"),
            hint=say("write the file again, or leave it out"),
        )
    package.sources.append(Source(_table_name(shown, named), shown, path=path))


def _take_folder(package: Package, folder: Path) -> None:
    files = sorted(path for path in folder.iterdir() if path.suffix.lower() == ".csv")
    if len(files) > MOST_FILES:
        raise OutpaceError(
            say_many("{n} file", "{n} files", len(files)),
            where=f"`{folder}`",
            allowed=say("at most {most}", most=MOST_FILES),
        )
    root = folder.resolve()
    listed = listed_in(folder / DESCRIPTOR)
    for path in files:
        if not path.resolve().is_relative_to(root):
            raise OutpaceError(
                say("`{name}` leads out of the folder", name=path.name),
                allowed=say("must lie in the folder itself"),
            )
        _take_file(package, path, path.name, name_listed(listed, path.name))
    refuse_absent(listed, {path.name for path in files})
    total = sum(path.stat().st_size for path in files)
    if total > MOST_BYTES_TOTAL:
        raise too_large(str(folder), MOST_BYTES_TOTAL, total)


def _take_zip(package: Package, path: Path) -> None:
    shown = path.name
    size = path.stat().st_size
    if size > MOST_BYTES_TOTAL:
        raise too_large(shown, MOST_BYTES_TOTAL, size)
    try:
        archive = zipfile.ZipFile(path)
    except (zipfile.BadZipFile, OSError) as error:
        raise OutpaceError(
            say("`{shown}` is no zip: {error}", shown=shown, error=error), hint=say("make the zip anew")
        ) from error
    package.archive = archive
    members = [info for info in archive.infolist() if not info.is_dir()]
    if len(members) > MOST_FILES:
        raise OutpaceError(
            say_many("{n} file", "{n} files", len(members)),
            where=f"`{shown}`",
            allowed=say("at most {most}", most=MOST_FILES),
        )
    total = 0
    tables: list[zipfile.ZipInfo] = []
    descriptor: zipfile.ZipInfo | None = None
    for info in members:
        refuse_path(info.filename, f"`{shown}`")
        total += info.file_size
        refuse_member(info, shown)
        parts = PurePosixPath(info.filename).parts
        if parts[0] == "__MACOSX" or parts[-1].startswith("."):
            continue
        if parts[-1].lower().endswith(".csv"):
            tables.append(info)
        elif parts[-1] == DESCRIPTOR:
            descriptor = info
    if total > MOST_BYTES_TOTAL:
        raise too_large(shown, MOST_BYTES_TOTAL, total)
    folders = {PurePosixPath(info.filename).parent for info in tables}
    if len(folders) > 1:
        raise OutpaceError(
            say_many("tables in {n} folder", "tables in {n} folders", len(folders)),
            where=f"`{shown}`",
            allowed=say("all tables lie in one folder of the zip"),
        )
    listed = None
    if descriptor is not None:
        if descriptor.file_size > MOST_BYTES_DESCRIPTOR:
            raise too_large(DESCRIPTOR, MOST_BYTES_DESCRIPTOR, descriptor.file_size)
        with archive.open(descriptor) as stream:
            listed = resources_of(stream.read(MOST_BYTES_DESCRIPTOR + 1))
    names = [PurePosixPath(info.filename).name for info in tables]
    if len(set(names)) < len(names):
        raise OutpaceError(
            say("a file given twice"), where=f"`{shown}`", allowed=say("each name stands once")
        )
    for info, name in zip(tables, names, strict=True):
        table = _table_name(name, name_listed(listed, name))
        package.sources.append(Source(table, name, member=info.filename))
    refuse_absent(listed, set(names))
