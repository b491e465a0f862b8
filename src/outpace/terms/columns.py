"""How a column of the book is described: required, part of the key, what it may hold.

Each record class of this package is the only description of its table: database, exchange files, checks
and documentation are derived from the metadata that these helpers attach. ``None`` in a record means *not
recorded* and is never zero.
"""

from __future__ import annotations

import dataclasses
from dataclasses import field
from typing import Any


def _column(*, default: Any = dataclasses.MISSING, **what: Any) -> Any:
    if default is dataclasses.MISSING:
        return field(metadata=what)
    return field(default=default, metadata=what)


def key(**what: Any) -> Any:
    """Mark a column that is part of the key and must be filled."""
    return _column(key=True, required=True, **what)


def need(**what: Any) -> Any:
    """Mark a column that must be filled."""
    return _column(required=True, **what)


def may(*, key: bool = False, **what: Any) -> Any:
    """Mark a column that may be left empty (``key=True``: part of the key, empty allowed)."""
    return _column(default=None, key=key, required=False, **what)


SHARE: dict[str, Any] = {"least": 0.0, "most": 1.0}
AMOUNT: dict[str, Any] = {"least": 0.0}
SIZE: dict[str, Any] = {"above": 0.0}
