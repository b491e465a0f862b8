"""Answers that take long, worked out once: kept here until book, hour, manner of telling or program change.

A kept answer is a copy of what the book says, so it lies in the user's own cache, readable by that user only, and
goes when a name is erased. It is never needed: where the folder cannot be written the answer is worked out again.
"""

from __future__ import annotations

import contextlib
import gzip
import json
import os
import sys
import threading
import zlib
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from outpace.language import manner

Answer = dict[str, Any]

KEPT = 24
"""So many answers stay; the ones longest unused go first."""
PARTS_KEPT = 1200
"""So many parts of answers stay: a farm of twenty houses has 61 a day, and one for each jar that stands in a house."""
ANSWERS, PARTS = "answer-*.json.gz", "part-*.json.gz"

PROGRAM = Path(__file__).parent.parent


def once(
    question: Sequence[str], head: str, work: Callable[[], Answer], *, at: datetime | None = None
) -> Answer:
    """Return an answer as it was worked out before, or work it out and keep it.

    Parameters
    ----------
    question : sequence of str
        What is asked, with everything that the answer depends on beside the book: name, farm, day.
    head : str
        The head of the book the answer rests on.
    work : callable
        Works the answer out; it must be what JSON can hold.
    at : datetime, optional
        The moment of asking; answers are kept for its hour, since cut-offs pass. Left out: now.
    """
    path = _place(question, head, at)
    return _read(path) or _kept(path, work(), ANSWERS, KEPT)


def known_before(question: Sequence[str], head: str, *, at: datetime | None = None) -> Answer | None:
    """Return an answer that :func:`once` has kept; None where there is none."""
    return _read(_place(question, head, at))


def once_from(kind: str, digest: str, work: Callable[[], Answer]) -> Answer:
    """Return a part of an answer as it was worked out before from the very same things, or work it out and keep it.

    Parameters
    ----------
    kind : str
        What is worked out.
    digest : str
        Of everything the part rests on, beside the program and the reader's language: see `digest_of`.
    work : callable
        Works the part out; it must be what JSON can hold.
    """
    path = folder() / f"part-{_digest([_program(), repr(manner()), kind, digest])}.json.gz"
    return _read(path) or _kept(path, work(), PARTS, PARTS_KEPT)


def kept_part(kind: str, digest: str) -> Answer | None:
    """Return a part that :func:`keep_part` has kept, in whatever language it was asked; None where there is none."""
    return _read(_part(kind, digest))


def keep_part(kind: str, digest: str, part: Answer) -> None:
    """Keep a part that grows: numbers that mean the same in every language, and rest on what the digest is of."""
    _kept(_part(kind, digest), part, PARTS, PARTS_KEPT)


def _part(kind: str, digest: str) -> Path:
    return folder() / f"part-{_digest([_program(), kind, digest])}.json.gz"


def forget() -> None:
    """Delete all that is kept, as when a name is erased from the book."""
    for path in folder().glob("*.json.gz"):
        with contextlib.suppress(OSError):
            path.unlink()


def folder() -> Path:
    """Return where answers are kept: what ``OUTPACE_CACHE`` names, else the user's cache folder."""
    named = os.environ.get("OUTPACE_CACHE", "").strip()
    if named:
        return Path(named)
    if sys.platform == "win32":
        return (
            Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local") / "outpace" / "answers"
        )
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "outpace" / "answers"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "outpace" / "answers"


def _place(question: Sequence[str], head: str, at: datetime | None) -> Path:
    moment = (at or datetime.now(UTC)).astimezone(UTC)
    known_by = [_program(), repr(manner()), head, f"{moment:%Y-%m-%dT%H}", *question]
    return folder() / f"answer-{_digest(known_by)}.json.gz"


def _digest(known_by: Sequence[str]) -> str:
    return sha256(json.dumps(known_by).encode()).hexdigest()


def _read(path: Path) -> Answer | None:
    with contextlib.suppress(OSError, EOFError, ValueError, zlib.error):
        found: Answer = json.loads(gzip.decompress(path.read_bytes()))
        path.touch()
        return found
    return None


def _kept(path: Path, answer: Answer, like: str, most: int) -> Answer:
    """Keep an answer and return it, of all that are named alike the latest few; it is no harm where that fails."""
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = path.with_name(f"{path.name}.{os.getpid()}.{threading.get_ident()}.part")
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
            file.write(gzip.compress(json.dumps(answer).encode(), 5))
        os.replace(beside, path)
        kept = list(path.parent.glob(like))
        if len(kept) > most:
            for old in sorted(kept, key=lambda held: held.stat().st_mtime)[: len(kept) - most]:
                old.unlink(missing_ok=True)
    return answer


@lru_cache(maxsize=1)
def _program() -> str:
    """Return a digest of the program as it lies on the disk: another one answers anew."""
    marks = sha256()
    for path in sorted(PROGRAM.rglob("*")):
        if path.suffix in (".py", ".csv", ".mo"):
            stat = path.stat()
            marks.update(f"{path.relative_to(PROGRAM)} {stat.st_size} {stat.st_mtime_ns}\n".encode())
    return marks.hexdigest()
