"""What a data package may hold: the sizes, the names, and the list of files that its descriptor gives."""

from __future__ import annotations

import json
import stat
import zipfile
from pathlib import Path, PurePosixPath

from outpace.errors import OutpaceError
from outpace.language import say

MOST_BYTES_FILE = 60_000_000
MOST_BYTES_TOTAL = 300_000_000
MOST_BYTES_DESCRIPTOR = 2_000_000
MOST_FILES = 500
MOST_RATIO = 100
DESCRIPTOR = "datapackage.json"


def too_large(shown: str, limit: int, size: int | None = None) -> OutpaceError:
    """Return the refusal of a file above its limit."""
    what = say("is too large") if size is None else say("is {mb:.0f} MB", mb=size / 1e6)
    return OutpaceError(
        what,
        where=f"`{shown}`",
        allowed=say("above the limit of {mb:.0f} MB", mb=limit / 1e6),
        hint=say("split it by year"),
    )


def listed_in(descriptor: Path) -> dict[str, str] | None:
    """Return the files that a descriptor lists, path to resource name; None where there is no descriptor."""
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
            say("cannot be read: {error}", error=error), where=where, allowed=say("must be JSON in UTF-8")
        ) from error
    resources = descriptor.get("resources") if isinstance(descriptor, dict) else None
    if not isinstance(resources, list):
        raise OutpaceError(say("lists no resources"), where=where, allowed=say("must be a data package"))
    found = {}
    for resource in resources:
        path = resource.get("path") if isinstance(resource, dict) else None
        name = resource.get("name") if isinstance(resource, dict) else None
        if not isinstance(path, str) or not isinstance(name, str):
            raise OutpaceError(
                say("a resource without name or path"), where=where, allowed=say("each needs both, as text")
            )
        refuse_path(path, where)
        dialect = resource.get("dialect")
        if isinstance(dialect, dict) and dialect.get("delimiter", ",") != ",":
            raise OutpaceError(
                say("`{path}` has another separator", path=path),
                where=where,
                allowed=say("cells are parted by commas"),
            )
        found[path] = name
    return found


def name_listed(listed: dict[str, str] | None, path: str) -> str | None:
    """Return the table name that a descriptor gives to a file; refuse a file it does not list."""
    if listed is None:
        return None
    if path not in listed:
        raise OutpaceError(
            say("`{path}` is not listed", path=path),
            where=f"`{DESCRIPTOR}`",
            hint=say("list it, or remove {file}", file=DESCRIPTOR),
        )
    return f"{listed[path]}.csv"


def refuse_absent(listed: dict[str, str] | None, there: set[str]) -> None:
    """Refuse a package that lacks a file which its descriptor lists."""
    absent = sorted(set(listed or ()) - there)
    if absent:
        raise OutpaceError(
            say("`{file}` is listed and absent", file=absent[0]),
            where=f"`{DESCRIPTOR}`",
            hint=say("add the file"),
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
            say("the name `{name}` leads out of the package", name=name[:80]),
            where=where,
            allowed=say("names must be plain, like walks.csv"),
            hint=say("pack the folder again, with the tables in it and nothing above it"),
        )


def refuse_member(info: zipfile.ZipInfo, shown: str) -> None:
    """Refuse a file of a zip that is encrypted, a link, a zip itself, or unpacks to too much."""
    where = f"`{shown}`"
    if info.flag_bits & 0x1:
        raise OutpaceError(
            say("`{filename}` is encrypted", filename=info.filename),
            where=where,
            hint=say("make the zip without a password"),
        )
    if stat.S_ISLNK(info.external_attr >> 16):
        raise OutpaceError(
            say("`{filename}` is a link", filename=info.filename),
            where=where,
            allowed=say("must be a plain file"),
        )
    if info.filename.lower().endswith(".zip"):
        raise OutpaceError(
            say("`{filename}` is a zip in the zip", filename=info.filename),
            where=where,
            allowed=say("tables lie in it directly"),
        )
    if info.file_size > MOST_BYTES_FILE:
        raise too_large(info.filename, MOST_BYTES_FILE, info.file_size)
    if info.file_size > 1_000_000 and info.file_size > MOST_RATIO * max(info.compress_size, 1):
        raise OutpaceError(
            say(
                "`{filename}` unpacks to {times:.0f} times its size",
                filename=info.filename,
                times=info.file_size / max(info.compress_size, 1),
            ),
            where=where,
            allowed=say("at most {most} times", most=MOST_RATIO),
            hint=say("import the folder itself instead of the zip"),
        )
