"""The files of a data package, opened with care: a folder, a zip, or CSV files alone.

Sizes are limited before and while reading, and names in a zip may not lead out of it.
"""

from __future__ import annotations

import csv
import io
import json
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
from outpace.terms.tables import TABLES

MOST_BYTES_FILE = 60_000_000
MOST_BYTES_TOTAL = 300_000_000
MOST_BYTES_DESCRIPTOR = 2_000_000
MOST_FILES = 500
MOST_RATIO = 100
LONGEST_CELL = 20_000
DESCRIPTOR = "datapackage.json"
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


def too_large(shown: str, limit: int, size: int | None = None) -> OutpaceError:
    """Return the refusal of a file above its limit."""
    what = "is too large" if size is None else f"is {size / 1e6:.0f} MB"
    return OutpaceError(
        what, where=f"`{shown}`", allowed=f"above the limit of {limit / 1e6:.0f} MB", hint="split it by year"
    )


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
                    "is empty",
                    where=f"`{source.shown}`",
                    allowed="needs a header and rows",
                    hint="write the file again, or leave it out",
                )
            if start[:2] in (b"\xff\xfe", b"\xfe\xff"):
                raise _not_utf8(source.shown, "is UTF-16")
            if start[:2] == b"PK" or start[:4] == b"\xd0\xcf\x11\xe0":
                raise OutpaceError(
                    "is a spreadsheet file",
                    where=f"`{source.shown}`",
                    allowed="must be CSV",
                    hint="save it as CSV UTF-8",
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
            raise _not_utf8(shown, f"byte 0x{error.object[error.start]:02x} after row {number}") from error
        except csv.Error as error:
            raise OutpaceError(
                f"{error}",
                where=f"`{shown}` after row {number}",
                allowed="must be CSV with cells up to 20000 characters",
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
                f"cannot be unpacked: {error}", where=f"`{source.shown}`", hint="make the zip anew"
            ) from error

    def close(self) -> None:
        if self.archive is not None:
            self.archive.close()


def _not_utf8(shown: str, what: str) -> OutpaceError:
    return OutpaceError(
        f"is not UTF-8 ({what})" if not what.startswith("is") else what,
        where=f"`{shown}`",
        allowed="must be UTF-8",
        hint="save it again as CSV UTF-8",
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
                raise OutpaceError(f"`{path}` does not exist", hint="name a folder, a zip or CSV files")
            if path.is_dir():
                _take_folder(package, path)
            elif path.suffix.lower() == ".zip":
                if len(places) > 1:
                    raise OutpaceError(f"`{path}` beside other files", allowed="a zip is imported alone")
                _take_zip(package, path)
            elif path.suffix.lower() == ".csv":
                _take_file(package, path, path.name)
            else:
                raise OutpaceError(
                    f"`{path.name}` is neither a folder, a zip nor CSV",
                    hint="name a folder, a zip or CSV files",
                )
        if not package.sources:
            raise OutpaceError(
                "holds no table of the book",
                where=f"`{places[0]}`" if places else "",
                allowed=f"tables: {', '.join(f'{name}.csv' for name in TABLES)}",
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
        f"`{shown}` is no table of the book",
        allowed=f"tables: {', '.join(TABLES)}",
        hint=f"did you mean `{near[0]}.csv`?" if near else "name the file after the table it holds",
    )


def _take_file(package: Package, path: Path, shown: str, named: str | None = None) -> None:
    found = path.stat()
    if not stat.S_ISREG(found.st_mode):
        raise OutpaceError(f"`{shown}` is no plain file", allowed="must be a CSV file")
    if found.st_size > MOST_BYTES_FILE:
        raise too_large(shown, MOST_BYTES_FILE, found.st_size)
    if found.st_size == 0:
        raise OutpaceError(
            "is empty",
            where=f"`{shown}`",
            allowed="needs a header and rows",
            hint="write the file again, or leave it out",
        )
    package.sources.append(Source(_table_name(shown, named), shown, path=path))


def _take_folder(package: Package, folder: Path) -> None:
    files = sorted(path for path in folder.iterdir() if path.suffix.lower() == ".csv")
    if len(files) > MOST_FILES:
        raise OutpaceError(f"{len(files)} files", where=f"`{folder}`", allowed=f"at most {MOST_FILES}")
    root = folder.resolve()
    listed = _listed(folder / DESCRIPTOR)
    for path in files:
        if not path.resolve().is_relative_to(root):
            raise OutpaceError(
                f"`{path.name}` leads out of the folder", allowed="must lie in the folder itself"
            )
        _take_file(package, path, path.name, _named(listed, path.name))
    _refuse_absent(listed, {path.name for path in files})
    total = sum(path.stat().st_size for path in files)
    if total > MOST_BYTES_TOTAL:
        raise too_large(str(folder), MOST_BYTES_TOTAL, total)


def _listed(descriptor: Path) -> dict[str, str] | None:
    if not descriptor.is_file():
        return None
    if descriptor.stat().st_size > MOST_BYTES_DESCRIPTOR:
        raise too_large(DESCRIPTOR, MOST_BYTES_DESCRIPTOR, descriptor.stat().st_size)
    return resources_of(descriptor.read_bytes())


def resources_of(raw: bytes) -> dict[str, str]:
    """Return the files a descriptor lists: path to resource name."""
    where = f"`{DESCRIPTOR}`"
    try:
        descriptor = json.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise OutpaceError(
            f"cannot be read: {error}", where=where, allowed="must be JSON in UTF-8"
        ) from error
    resources = descriptor.get("resources") if isinstance(descriptor, dict) else None
    if not isinstance(resources, list):
        raise OutpaceError("lists no resources", where=where, allowed="must be a data package")
    found = {}
    for resource in resources:
        path = resource.get("path") if isinstance(resource, dict) else None
        name = resource.get("name") if isinstance(resource, dict) else None
        if not isinstance(path, str) or not isinstance(name, str):
            raise OutpaceError(
                "a resource without name or path", where=where, allowed="each needs both, as text"
            )
        refuse_path(path, where)
        dialect = resource.get("dialect")
        if isinstance(dialect, dict) and dialect.get("delimiter", ",") != ",":
            raise OutpaceError(
                f"`{path}` has another separator", where=where, allowed="cells are parted by commas"
            )
        found[path] = name
    return found


def _named(listed: dict[str, str] | None, path: str) -> str | None:
    """Return the table name that a descriptor gives to a file; refuse a file it does not list."""
    if listed is None:
        return None
    if path not in listed:
        raise OutpaceError(
            f"`{path}` is not listed", where=f"`{DESCRIPTOR}`", hint=f"list it, or remove {DESCRIPTOR}"
        )
    return f"{listed[path]}.csv"


def _refuse_absent(listed: dict[str, str] | None, there: set[str]) -> None:
    absent = sorted(set(listed or ()) - there)
    if absent:
        raise OutpaceError(
            f"`{absent[0]}` is listed and absent", where=f"`{DESCRIPTOR}`", hint="add the file"
        )


def refuse_path(name: str, where: str) -> None:
    """Refuse a name that leads out: absolute, with ``..``, a drive, a backslash or an address."""
    path = PurePosixPath(name)
    bad = (
        path.is_absolute()
        or ".." in path.parts
        or "\\" in name
        or ":" in name
        or "\x00" in name
        or not path.parts
    )
    if bad:
        raise OutpaceError(
            f"the name `{name[:80]}` leads out of the package",
            where=where,
            allowed="names must be plain, like walks.csv",
            hint="pack the folder again, with the tables in it and nothing above it",
        )


def _take_zip(package: Package, path: Path) -> None:
    shown = path.name
    size = path.stat().st_size
    if size > MOST_BYTES_TOTAL:
        raise too_large(shown, MOST_BYTES_TOTAL, size)
    try:
        archive = zipfile.ZipFile(path)
    except (zipfile.BadZipFile, OSError) as error:
        raise OutpaceError(f"`{shown}` is no zip: {error}", hint="make the zip anew") from error
    package.archive = archive
    members = [info for info in archive.infolist() if not info.is_dir()]
    if len(members) > MOST_FILES:
        raise OutpaceError(f"{len(members)} files", where=f"`{shown}`", allowed=f"at most {MOST_FILES}")
    total = 0
    tables: list[zipfile.ZipInfo] = []
    descriptor: zipfile.ZipInfo | None = None
    for info in members:
        refuse_path(info.filename, f"`{shown}`")
        total += info.file_size
        _refuse_member(info, shown)
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
            f"tables in {len(folders)} folders",
            where=f"`{shown}`",
            allowed="all tables lie in one folder of the zip",
        )
    listed = None
    if descriptor is not None:
        if descriptor.file_size > MOST_BYTES_DESCRIPTOR:
            raise too_large(DESCRIPTOR, MOST_BYTES_DESCRIPTOR, descriptor.file_size)
        with archive.open(descriptor) as stream:
            listed = resources_of(stream.read(MOST_BYTES_DESCRIPTOR + 1))
    names = [PurePosixPath(info.filename).name for info in tables]
    if len(set(names)) < len(names):
        raise OutpaceError("a file given twice", where=f"`{shown}`", allowed="each name stands once")
    for info, name in zip(tables, names, strict=True):
        table = _table_name(name, _named(listed, name))
        package.sources.append(Source(table, name, member=info.filename))
    _refuse_absent(listed, set(names))


def _refuse_member(info: zipfile.ZipInfo, shown: str) -> None:
    where = f"`{shown}`"
    if info.flag_bits & 0x1:
        raise OutpaceError(
            f"`{info.filename}` is encrypted", where=where, hint="make the zip without a password"
        )
    if stat.S_ISLNK(info.external_attr >> 16):
        raise OutpaceError(f"`{info.filename}` is a link", where=where, allowed="must be a plain file")
    if info.filename.lower().endswith(".zip"):
        raise OutpaceError(
            f"`{info.filename}` is a zip in the zip", where=where, allowed="tables lie in it directly"
        )
    if info.file_size > MOST_BYTES_FILE:
        raise too_large(info.filename, MOST_BYTES_FILE, info.file_size)
    if info.file_size > 1_000_000 and info.file_size > MOST_RATIO * max(info.compress_size, 1):
        raise OutpaceError(
            f"`{info.filename}` unpacks to {info.file_size / max(info.compress_size, 1):.0f} times its size",
            where=where,
            allowed=f"at most {MOST_RATIO} times",
            hint="import the folder itself instead of the zip",
        )
