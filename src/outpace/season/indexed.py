"""The rows of a table by some of their columns, sorted out once: a farm of many houses asks for each house in turn."""

from __future__ import annotations

import threading
from collections import OrderedDict, defaultdict
from collections.abc import Mapping
from typing import Any, TypeVar

from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Row = TypeVar("Row")

KEPT = 48
"""So many tables stay sorted out; the ones longest unused go first."""

_kept: OrderedDict[tuple[int, tuple[str, ...]], tuple[tuple[Any, ...], Mapping[Any, tuple[Any, ...]]]] = (
    OrderedDict()
)
_lock = threading.Lock()


def indexed(rows: tuple[Row, ...], *columns: str) -> Mapping[Any, tuple[Row, ...]]:
    """Return the rows by the values of columns, in their order; of one column by its value, of several by a tuple.

    Kept for the very same tuple of rows, which cannot change.

    Examples
    --------
    >>> from outpace.terms.scouting import WalkLine
    >>> one, two = (WalkLine(walk=key, pest="any", looked_at=20, infested=0) for key in "ab")
    >>> indexed((one, two), "walk")["b"] == (two,)
    True
    """
    place = (id(rows), columns)
    with _lock:
        held = _kept.get(place)
        if held is not None and held[0] is rows:
            _kept.move_to_end(place)
            return held[1]
        sorted_out: dict[Any, list[Row]] = defaultdict(list)
        if len(columns) == 1:
            for row in rows:
                sorted_out[getattr(row, columns[0])].append(row)
        else:
            for row in rows:
                sorted_out[tuple([getattr(row, column) for column in columns])].append(row)
        found = {key: tuple(each) for key, each in sorted_out.items()}
        # The rows are held beside, so that no other tuple can come to lie where this one lay.
        _kept[place] = (rows, found)
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
        return found


def of_house(snapshot: Snapshot, kind: type[Row], farm: Farm, house: House) -> tuple[Row, ...]:
    """Return the rows of a table that are of a house."""
    return indexed(snapshot.table(kind), "farm", "house").get((farm.farm, house.house), ())
