"""Which rows of the book must stand for another row to make sense."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

import sqlalchemy as sa

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.records.canonical import canonical_json
from outpace.records.columns import table
from outpace.records.tables import VERSIONS, climate, climate_series
from outpace.terms.tables import TABLES

CHUNK = 400


@dataclass(frozen=True, slots=True)
class Reference:
    """Columns of a table that hold the whole key of another; empty where any of them is empty."""

    child: str
    columns: tuple[str, ...]
    parent: str


def _all_references() -> tuple[Reference, ...]:
    found = []
    for name in TABLES:
        columns = set(table(name).names)
        if name != "farm" and "farm" in columns:
            found.append(Reference(name, ("farm",), "farm"))
        if name != "houses" and {"farm", "house"} <= columns:
            found.append(Reference(name, ("farm", "house"), "houses"))
        if name != "walks" and "walk" in columns:
            found.append(Reference(name, ("walk",), "walks"))
        if name != "orders" and {"order", "line"} <= columns:
            found.append(Reference(name, ("order", "line"), "orders"))
        if name != "lots" and "lot" in columns:
            found.append(Reference(name, ("lot",), "lots"))
    return tuple(found)


#: Read off the columns: a ``house`` beside a ``farm`` names a row of ``houses``, a ``walk`` one of ``walks``.
REFERENCES = _all_references()

SINGULAR = {
    "farm": "farm",
    "houses": "house",
    "walks": "walk",
    "orders": "order line",
    "lots": "lot",
    "zones": "zone",
}


def references_from(name: str) -> tuple[Reference, ...]:
    """Return the references that rows of one table make."""
    return tuple(reference for reference in REFERENCES if reference.child == name)


class Wanted:
    """The rows that new rows lean on, gathered before the database is asked once for each table."""

    def __init__(self) -> None:
        self._keys: dict[str, dict[str, tuple[list[Any], str]]] = {}
        self._zones: dict[tuple[str, str], dict[str, str]] = {}
        self._walk_zones: dict[str, dict[str, str]] = {}

    def add(self, name: str, values: Mapping[str, Any], where: str) -> None:
        """Note what one row of table ``name`` needs."""
        for reference in references_from(name):
            cells = [values[column] for column in reference.columns]
            if all(cell is not None for cell in cells):
                self._keys.setdefault(reference.parent, {}).setdefault(canonical_json(cells), (cells, where))
        zone = values.get("zone")
        if zone is None or name == "zones":
            return
        if values.get("house") is not None:
            self._zones.setdefault((values["farm"], values["house"]), {}).setdefault(zone, where)
        elif "walk" in values:
            self._walk_zones.setdefault(values["walk"], {}).setdefault(zone, where)

    def missing(self, connection: sa.Connection) -> list[OutpaceError]:
        """Return an error for each row that is leant on and does not stand."""
        errors = []
        for parent, keys in self._keys.items():
            standing = _standing(connection, parent, keys)
            for key, (cells, where) in keys.items():
                if key not in standing:
                    errors.append(_missing(connection, parent, cells, where))
        errors += self._missing_zones(connection)
        return errors

    def _missing_zones(self, connection: sa.Connection) -> list[OutpaceError]:
        zones = VERSIONS["zones"]
        walks = VERSIONS["walks"]
        wanted = {house: dict(named) for house, named in self._zones.items()}
        for chunk in _chunks(list(self._walk_zones)):
            found = sa.select(walks.c.walk, walks.c.farm, walks.c.house).where(
                _live(walks), walks.c.walk.in_(chunk)
            )
            for walk, farm, house in connection.execute(found):
                for zone, where in self._walk_zones[walk].items():
                    wanted.setdefault((farm, house), {}).setdefault(zone, where)
        errors = []
        for (farm, house), named in wanted.items():
            query = sa.select(zones.c.zone).where(_live(zones), zones.c.farm == farm, zones.c.house == house)
            listed = set(connection.execute(query).scalars())
            # A house whose zones were never listed takes any name: zones may be told in passing.
            for zone, where in named.items():
                if listed and zone not in listed:
                    errors.append(
                        OutpaceError(
                            say("zone `{zone}` of house `{house}` does not exist", zone=zone, house=house),
                            where=where,
                            allowed=say("zones: {listed}", listed=", ".join(sorted(listed)[:12])),
                            hint=_near(zone, listed) or say("add the zone to `zones` first"),
                        )
                    )
        return errors


def _live(versions: sa.Table) -> sa.ColumnElement[bool]:
    return sa.and_(versions.c.replaced.is_(None), versions.c.withdrawn == 0)


def _chunks(items: list[Any]) -> Iterable[list[Any]]:
    return (items[at : at + CHUNK] for at in range(0, len(items), CHUNK))


def _standing(connection: sa.Connection, parent: str, keys: Iterable[str]) -> set[str]:
    versions = VERSIONS[parent]
    found: set[str] = set()
    for chunk in _chunks(list(keys)):
        query = sa.select(versions.c.row_key).where(_live(versions), versions.c.row_key.in_(chunk))
        found.update(connection.execute(query).scalars())
    return found


def _near(name: str, names: Iterable[str]) -> str:
    near = get_close_matches(str(name), [str(n) for n in names], n=1, cutoff=0.5)
    return say("did you mean `{near}`?", near=near[0]) if near else ""


def _missing(connection: sa.Connection, parent: str, cells: list[Any], where: str) -> OutpaceError:
    versions = VERSIONS[parent]
    *scope, last = [versions.c[column.stored] for column in table(parent).keys]
    query = sa.select(last).where(_live(versions), *(c == v for c, v in zip(scope, cells, strict=False)))
    names = sorted({str(name) for name in connection.execute(query.limit(500)).scalars()})
    word = SINGULAR[parent]
    shown = (
        f"`{cells[-1]}`"
        if len(scope) == 0 or parent != "orders"
        else say("`{cells}` line {cells2}", cells=cells[0], cells2=cells[1])
    )
    allowed = (
        say("known: {names}", names=", ".join(names[:12]))
        if names
        else say("there is no {word} yet", word=word)
    )
    hint = _near(cells[-1], names) or say(
        "add the {word} to `{parent}` first, or check how it is written", word=word, parent=parent
    )
    return OutpaceError(
        say("{word} {shown} does not exist", word=word, shown=shown), where=where, allowed=allowed, hint=hint
    )


def still_needed(connection: sa.Connection, parent: str, values: Mapping[str, Any]) -> str:
    """Return words for a live row that leans on a row about to be withdrawn, or an empty text."""
    for reference in REFERENCES:
        if reference.parent != parent:
            continue
        cells = [values[column.stored] for column in table(parent).keys]
        child = climate_series if reference.child == "climate" else VERSIONS[reference.child]
        query = sa.select(sa.literal(1)).where(
            *(child.c[column] == cell for column, cell in zip(reference.columns, cells, strict=True))
        )
        if reference.child == "climate":
            query = query.join_from(child, climate).where(_live(climate))
        else:
            query = query.where(_live(child))
        if connection.execute(query.limit(1)).first():
            return say("rows of `{child}` still name it", child=reference.child)
    return ""
