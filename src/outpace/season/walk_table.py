"""Counts from a person's own table: its columns named once and remembered, looked at before they enter."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.facts.table import load
from outpace.intake.table_map import FIELDS, TableMap, preview_table, read_counts
from outpace.language import say, say_many
from outpace.season.enter import Entered
from outpace.season.names import houses_of, pick_farm, pick_house
from outpace.season.open_book import book_url
from outpace.terms.place import Farm
from outpace.terms.scouting import PESTS_UNNAMED, Walk
from outpace.terms.tables import Snapshot

SHOWN_ROWS = 5


@dataclass(frozen=True, slots=True)
class MapShelf:
    """The maps of people's tables, kept in one JSON file beside the book, by the headings they are for."""

    path: Path

    @classmethod
    def of(cls, url: str | None = None) -> MapShelf:
        """Return the shelf of a book; at home where the book is on a server."""
        place = book_url(url)
        if "://" in place:
            return cls(Path.home() / ".config" / "outpace" / "tables.json")
        path = Path(place).expanduser()
        return cls(path.with_name(f"{path.name}.tables.json"))

    def find(self, fingerprint: str) -> TableMap | None:
        """Return the map of tables with these headings, or None."""
        found = self._all().get(fingerprint)
        return None if found is None else TableMap.from_json(found)

    def keep(self, fingerprint: str, told: TableMap) -> None:
        """Keep a map, in place of the one for the same headings."""
        kept = {**self._all(), fingerprint: told.to_json()}
        beside = self.path.with_name(f".{self.path.name}.part")
        beside.write_text(json.dumps(kept, ensure_ascii=False, indent=2) + "\n", encoding="utf-8")
        os.replace(beside, self.path)

    def _all(self) -> dict[str, Any]:
        if not self.path.exists():
            return {}
        try:
            return dict(json.loads(self.path.read_text(encoding="utf-8")))
        except ValueError as error:
            raise OutpaceError(
                say("the kept maps of tables cannot be read"),
                where=f"`{self.path}`",
                hint=say("move the file away; name the columns again"),
            ) from error


def told_map(columns: Sequence[str], date_order: str | None) -> TableMap:
    """Return the columns that a person names as HEADING=FIELD.

    Examples
    --------
    >>> dict(told_map(["Pulgones vivos=aphids"], None).columns)
    {'Pulgones vivos': 'aphids'}
    """
    found = {}
    for column in columns:
        heading, equals, field = column.rpartition("=")
        if not equals or not heading.strip():
            raise OutpaceError(
                say("{column!r} names no field", column=column),
                where="`--column`",
                allowed=say("HEADING=FIELD, the field one of {fields}", fields=", ".join(FIELDS)),
                hint=say("write it as `--column '{column}=aphids'`", column=column.strip("=")),
                code=ExitCode.USAGE,
            )
        found[heading.strip()] = field.strip()
    return TableMap(found, date_order)


def preview_counts(
    snapshot: Snapshot, path: Path, told: TableMap, shelf: MapShelf, **how: Any
) -> dict[str, Any]:
    """Return what a table seems to hold and what is still to be told, as ``outpace.table/1``; nothing is recorded.

    Parameters
    ----------
    how : optional
        Unit, how plants were chosen, house, pest and farm, as for `counts_from_table`.
    """
    _must_exist(path)
    seen, known = _seen(path, told, shelf)
    columns: Mapping[str, str] = seen.proposed.columns
    left = len(seen.questions)
    refused: list[str] = []
    if not left:
        try:
            _read(snapshot, path, seen.proposed, **how)
        except ManyErrors as errors:
            refused = [error.line() for error in errors.errors]
        except OutpaceError as error:
            refused = [error.line()]
    return {
        "schema": "outpace.table/1",
        "file": str(path),
        "sentence": say_many(
            "Answer {n} question before the import.", "Answer {n} questions before the import.", left
        )
        if left
        else say_many(
            "Mend {n} mistake before the import; until then nothing enters.",
            "Mend {n} mistakes before the import; until then nothing enters.",
            len(refused),
        )
        if refused
        else say_many(
            "{n} row is ready: import it.", "{n} rows are ready: import them.", len(seen.sheet.rows)
        ),
        "ready": not left and not refused,
        "refused": refused,
        "remembered": known,
        "columns": [
            {"heading": heading, "field": columns.get(heading)} for heading in seen.sheet.headings if heading
        ],
        "left_out": list(seen.left_out),
        "date_order": seen.proposed.date_order,
        "rows": len(seen.sheet.rows),
        "first_rows": [list(row) for _, row in seen.sheet.rows[:SHOWN_ROWS]],
        "questions": [
            {
                "text": question.text,
                "option": question.option,
                "choices": [{"value": each.value, "meaning": each.meaning} for each in question.choices],
            }
            for question in seen.questions
        ],
    }


def _seen(path: Path, told: TableMap, shelf: MapShelf) -> tuple[Any, bool]:
    first = preview_table(path, None)
    kept = shelf.find(first.fingerprint)
    if kept is not None:
        told = TableMap({**kept.columns, **told.columns}, told.date_order or kept.date_order)
    return preview_table(path, told), kept is not None


def counts_from_table(
    snapshot: Snapshot,
    path: Path,
    told: TableMap,
    shelf: MapShelf,
    *,
    unit: str = "plant",
    chosen: str = "random",
    house: str | None = None,
    pest: str = "unknown",
    farm: str | None = None,
) -> Entered:
    """Return the walks of a table, and keep its map for the next one with the same headings.

    Raises
    ------
    OutpaceError
        With every row that cannot be read, with the questions that are open, or for a house that is not known.
    """
    _must_exist(path)
    seen, _ = _seen(path, told, shelf)
    rows = _read(snapshot, path, seen.proposed, unit=unit, chosen=chosen, house=house, pest=pest, farm=farm)
    walks = [row for row in rows if isinstance(row, Walk)]
    shelf.keep(seen.fingerprint, seen.proposed)
    left = say(" Columns left out: {left_out}.", left_out=", ".join(seen.left_out)) if seen.left_out else ""
    houses = len({walk.house for walk in walks})
    sentence = say(
        "{walks} of {houses} read from {name}.{left}",
        walks=say_many("{n} walk", "{n} walks", len(walks)),
        houses=say_many("{n} house", "{n} houses", houses),
        name=path.name,
        left=left,
    )
    cautions = (say("How the columns were read is remembered for tables with the same headings."),)
    return Entered(list(rows), sentence, cautions)


def _read(
    snapshot: Snapshot,
    path: Path,
    told: TableMap,
    *,
    unit: str,
    chosen: str,
    house: str | None,
    pest: str,
    farm: str | None,
) -> Sequence[Any]:
    """Return the rows of a table for the houses of a farm; every house that is not known is told."""
    there = pick_farm(snapshot, farm)
    facts = load()

    def species(name: str) -> str:
        plain = name.strip().casefold()
        return plain if plain in PESTS_UNNAMED else facts.resolve(name, "pest")

    rows = read_counts(
        path,
        told,
        farm=there.farm,
        time_zone=there.time_zone,
        species=species,
        unit=unit,
        chosen=chosen,
        house=pick_house(snapshot, there, house).house if house else None,
        pest=species(pest),
    )
    known = {row.house.casefold() for row in houses_of(snapshot, there)}
    strange = dict.fromkeys(
        row.house for row in rows if isinstance(row, Walk) and row.house.casefold() not in known
    )
    faults = [fault for name in strange if (fault := _not_picked(snapshot, there, name)) is not None]
    if faults:
        raise faults[0] if len(faults) == 1 else ManyErrors(faults)
    return rows


def _not_picked(snapshot: Snapshot, farm: Farm, house: str) -> OutpaceError | None:
    try:
        pick_house(snapshot, farm, house)
    except OutpaceError as error:
        return error
    return None


def _must_exist(path: Path) -> None:
    if not path.is_file():
        raise OutpaceError(
            say("there is no such file"), where=f"`{path}`", hint=say("check the path"), code=ExitCode.USAGE
        )
