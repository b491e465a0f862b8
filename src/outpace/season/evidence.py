"""What a figure rests on, as one digest: the very same things give the very same figure."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from datetime import date, datetime, time
from enum import Enum
from hashlib import blake2b
from typing import TYPE_CHECKING, Any

import numpy as np

from outpace.terms.place import Farm, House
from outpace.terms.tables import TABLE_OF, Snapshot
from outpace.terms.upkeep import OwnFact

if TYPE_CHECKING:
    from outpace.season.case import HouseCase

PLAIN = (str, int, float, bool, date, datetime, time, type(None))


class Derived:
    """What follows from other things by the program alone: ``rests_on``, their digest, stands for it in a digest."""

    rests_on: str


def digest_of(*things: Any) -> str:
    """Return the digest of numbers, texts, dates, arrays, records, and lists and mappings of them.

    Raises
    ------
    TypeError
        If anything among them is of another kind: what cannot be told apart must not pass for the same.

    Examples
    --------
    >>> digest_of(1, [2.0, "a"]) == digest_of(1, [2.0, "a"])
    True
    >>> digest_of(["ab"], "c") == digest_of(["a"], "bc")
    False
    """
    marks = blake2b(digest_size=24)
    _add(marks, things)
    return marks.hexdigest()


def case_digest(case: HouseCase) -> str:
    """Return the digest of a house as it stands on its day: of all that its estimate reads.

    The rows of the book and the facts count by what the case took from them, and by the farm's own facts.
    """
    taken = {
        field.name: getattr(case, field.name)
        for field in dataclasses.fields(case)
        if field.name not in ("snapshot", "facts", "now")
    }
    return digest_of(taken, case.snapshot.table(OwnFact))


def only(snapshot: Snapshot, farm: Farm, house: House, kinds: tuple[type, ...], at: datetime) -> Snapshot:
    """Return a snapshot that holds some tables alone, as of a moment: what reads it can rest on nothing else.

    Of a table that names houses it holds the rows of this one.
    """
    rows: dict[str, tuple[Any, ...]] = {}
    for kind in kinds:
        held: tuple[Any, ...] = snapshot.table(kind)
        if any(field.name == "house" for field in dataclasses.fields(kind)):
            held = tuple(row for row in held if (row.farm, row.house) == (farm.farm, house.house))
        rows[TABLE_OF[kind]] = held
    return Snapshot(as_of=at, head="", rows=rows)


def _add(marks: Any, thing: Any) -> None:
    if isinstance(thing, np.ndarray):
        marks.update(f"a{thing.dtype.str}{thing.shape}".encode())
        marks.update(np.ascontiguousarray(thing).data)
    elif isinstance(thing, np.generic):
        _add(marks, thing.item())
    elif isinstance(thing, Enum):
        _add(marks, [type(thing).__qualname__, thing.name])
    elif isinstance(thing, Derived):
        _add(marks, [type(thing).__qualname__, thing.rests_on])
    elif isinstance(thing, PLAIN):
        told = repr(thing).encode()
        marks.update(b"%b%d:" % (type(thing).__name__.encode(), len(told)))
        marks.update(told)
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        marks.update(type(thing).__qualname__.encode() + b"{")
        for field in dataclasses.fields(thing):
            _add(marks, getattr(thing, field.name))
        marks.update(b"}")
    elif isinstance(thing, Mapping):
        marks.update(b"m%d(" % len(thing))
        for key, value in thing.items():
            _add(marks, key)
            _add(marks, value)
        marks.update(b")")
    elif isinstance(thing, list | tuple):
        marks.update(b"l%d(" % len(thing))
        for each in thing:
            _add(marks, each)
        marks.update(b")")
    elif isinstance(thing, set | frozenset):
        _add(marks, sorted(thing))
    else:
        raise TypeError(f"no digest of {type(thing).__qualname__}")
