"""Counts that people keep in tables of their own: their columns named once, then read as walks."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.intake.dialect import plain_heading
from outpace.intake.questions import Choice, Question, refuse_unanswered
from outpace.intake.sheet import Sheet, read_sheet
from outpace.intake.written_time import day_of, find_order, read_written
from outpace.language import say
from outpace.terms.scouting import COUNT_CLASSES, Count, Mummies, Walk, WalkLine

#: What a column of counts can be, with headings by which it is known.
FIELDS: dict[str, tuple[str, ...]] = {
    "date": ("date", "day", "time", "date/time", "fecha", "datum", "data", "jour"),
    "house": ("house", "tunnel", "greenhouse", "bay", "site", "invernadero", "haus", "serre", "serra", "kas"),
    "zone": ("zone", "bed", "block", "row", "zona", "reihe", "rang"),
    "plant": ("plant", "plant no", "planta", "pflanze", "plante"),
    "pest": ("pest", "aphid", "species", "aphid species", "plaga", "art", "especie", "espèce"),
    "aphids": (
        "aphids",
        "count",
        "number",
        "aphid count",
        "no of aphids",
        "pulgones",
        "blattläuse",
        "pucerons",
    ),
    "winged": ("winged", "alates", "alados", "geflügelte", "ailés"),
    "mummies": ("mummies", "mummy", "closed mummies", "momias", "mumien", "momies"),
    "black_mummies": ("black mummies", "momias negras", "schwarze mumien", "momies noires"),
    "looked_at": ("looked at", "plants looked at", "checked", "sample", "revisadas", "kontrolliert"),
    "infested": ("infested", "with aphids", "infestadas", "befallen", "infestées"),
    "scout": ("scout", "who", "by", "name", "quién", "wer", "qui"),
    "note": ("note", "notes", "remark", "remarks", "notas", "bemerkung", "remarques"),
}
UNIT_SHAPE = ("date", "aphids")
LINE_SHAPE = ("date", "looked_at", "infested")

Resolve = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class TableMap:
    """Which field each of a table's columns is; headings not named are left out."""

    columns: Mapping[str, str]
    date_order: str | None = None

    def to_json(self) -> dict[str, Any]:
        """Return the map as plain values."""
        return {"columns": dict(self.columns), "date_order": self.date_order}

    @classmethod
    def from_json(cls, values: Mapping[str, Any]) -> TableMap:
        """Return the map that :meth:`to_json` gave."""
        return cls(dict(values["columns"]), values.get("date_order"))


@dataclass(frozen=True, slots=True)
class TablePreview:
    """A table of counts before it is read: proposed map, first rows, and what is still to be told."""

    sheet: Sheet
    proposed: TableMap
    left_out: tuple[str, ...]
    questions: tuple[Question, ...]

    @property
    def fingerprint(self) -> str:
        """Return a short text that tables with the same headings share."""
        return fingerprint(self.sheet.headings)


def fingerprint(headings: Sequence[str]) -> str:
    """Return a short text for a list of headings, whatever their capitals."""
    return hashlib.sha256("\x1f".join(map(plain_heading, headings)).encode()).hexdigest()[:16]


def preview_table(
    source: Path | bytes, told: TableMap | None = None, *, name: str | None = None
) -> TablePreview:
    """Return a table's headings with the fields they seem to be, and what is missing.

    Raises
    ------
    OutpaceError
        If there is no table, or a told column or field does not exist.
    """
    sheet = read_sheet(source, name=name)
    columns = dict(told.columns) if told else {}
    _check_told(columns, sheet)
    for heading in sheet.headings:
        field = _guess(heading)
        if heading not in columns and field and field not in columns.values():
            columns[heading] = field
    proposed = TableMap(columns, told.date_order if told else None)
    questions = list(_missing(columns, sheet))
    if not questions and proposed.date_order is None:
        at = _position(sheet, columns, "date")
        found = find_order(read_written(row[at] for _, row in sheet.rows))
        if found.question:
            questions.append(found.question)
    left_out = tuple(heading for heading in sheet.headings if heading and heading not in columns)
    return TablePreview(sheet, proposed, left_out, tuple(questions))


def _check_told(columns: Mapping[str, str], sheet: Sheet) -> None:
    for heading, field in columns.items():
        if heading not in sheet.headings:
            raise OutpaceError(
                say("no column called {heading!r}", heading=heading),
                where=sheet.where,
                allowed=say("columns: {headings}", headings=", ".join(sheet.headings)),
                hint=say("write the heading as it stands in the table"),
                code=ExitCode.USAGE,
            )
        if field not in FIELDS:
            raise OutpaceError(
                f"{field!r}",
                where=say("`--column {heading}=...`", heading=heading),
                allowed=say("one of {fields}", fields=", ".join(FIELDS)),
                hint=say("check it"),
            )


def _guess(heading: str) -> str | None:
    plain = re.sub(r"[^\w/ ]+", " ", plain_heading(heading)).strip()
    return next((field for field, words in FIELDS.items() if plain in words), None)


def _missing(columns: Mapping[str, str], sheet: Sheet) -> Sequence[Question]:
    told = set(columns.values())
    shape = LINE_SHAPE if {"looked_at", "infested"} & told else UNIT_SHAPE
    free = [heading for heading in sheet.headings if heading and heading not in columns]
    return [
        Question(
            f"column:{field}",
            say("no column is known as {field}", field=field.replace("_", " ")),
            "--column",
            tuple(
                Choice(f'"{heading}={field}"', say("column {heading!r}", heading=heading)) for heading in free
            )
            or (Choice(f"HEADING={field}", say("add such a column first")),),
        )
        for field in shape
        if field not in told
    ]


def _position(sheet: Sheet, columns: Mapping[str, str], field: str) -> int:
    return next(at for at, heading in enumerate(sheet.headings) if columns.get(heading) == field)


def read_counts(
    source: Path | bytes,
    told: TableMap | None = None,
    *,
    farm: str,
    time_zone: str,
    species: Resolve,
    unit: str = "plant",
    chosen: str = "random",
    house: str | None = None,
    pest: str = "unknown",
    name: str | None = None,
) -> list[Walk | Count | Mummies | WalkLine]:
    """Return the walks that a table of counts holds, all of it or nothing.

    A table with a row for each plant, leaf or shoot gives counts; one with a row for each walk (looked at,
    infested) gives one-line walks. Rows of one house and day are one walk. Empty is not recorded, 0 is none.
    Mummies count as tan unless their column says black.

    Parameters
    ----------
    told : TableMap, optional
        Which field each column is, where the headings do not tell.
    species : callable
        Returns the key of an aphid from its name in the table; raises OutpaceError for one it does not know.
    unit, chosen : str
        What one row looked at, and how it was chosen.
    house, pest : str
        Used where the table has no such column.

    Raises
    ------
    OutpaceError
        With every row that cannot be read, or with the questions that are open.
    """
    seen = preview_table(source, told, name=name)
    refuse_unanswered(seen.questions, seen.sheet.where)
    reader = _Counts(seen, farm, ZoneInfo(time_zone), species, unit, chosen, house, pest)
    return reader.rows()


class _Counts:
    """Reads one table; errors are gathered so that they can be mended together."""

    def __init__(
        self,
        seen: TablePreview,
        farm: str,
        zone: ZoneInfo,
        species: Resolve,
        unit: str,
        chosen: str,
        house: str | None,
        pest: str,
    ) -> None:
        self._sheet = seen.sheet
        columns = seen.proposed.columns
        self._at = {columns[h]: at for at, h in enumerate(seen.sheet.headings) if h in columns}
        order = seen.proposed.date_order
        dates = read_written(row[self._at["date"]] for _, row in seen.sheet.rows)
        self._order = order or find_order(dates).order or "day"
        self._dates = dates
        self._farm, self._zone, self._species = farm, zone, species
        self._unit, self._chosen, self._house, self._pest = unit, chosen, house, pest
        self._errors: list[OutpaceError] = []

    def rows(self) -> list[Walk | Count | Mummies | WalkLine]:
        walks: dict[str, list[tuple[int, tuple[str, ...]]]] = {}
        opened: dict[str, tuple[str, datetime, str | None]] = {}
        for (number, cells), written in zip(self._sheet.rows, self._dates, strict=True):
            day = day_of(written.day, self._order) if written and written.day else None
            house = self._text(cells, "house") or self._house
            if day is None or written is None:
                self._refuse(
                    number,
                    say("date {cells!r}", cells=cells[self._at["date"]]),
                    say("must be a day"),
                    "year-month-day",
                )
            elif not house:
                self._refuse(
                    number,
                    say("no house"),
                    say("each row names its house"),
                    say("add the column, or give `--house`"),
                )
            else:
                clock = timedelta(seconds=written.seconds) if written.seconds else timedelta(hours=12)
                moment = datetime.combine(day, time(), self._zone) + clock
                walk = f"{_plain(house)}-{day:%Y%m%d}-table"
                opened.setdefault(walk, (house, moment, self._text(cells, "scout")))
                walks.setdefault(walk, []).append((number, cells))
        result: list[Walk | Count | Mummies | WalkLine] = []
        for walk, rows in walks.items():
            house, moment, scout = opened[walk]
            found = self._lines(walk, rows) if "infested" in self._at else self._units(walk, rows)
            looked = [line.looked_at for line in found if isinstance(line, WalkLine)]
            units = {count.unit_no for count in found if isinstance(count, Count)}
            result.append(
                Walk(
                    walk=walk,
                    farm=self._farm,
                    house=house,
                    time=moment,
                    scout=scout,
                    unit=self._unit,
                    chosen=self._chosen,
                    looked_at=max(looked, default=len(units)),
                    finished=True,
                )
            )
            result += found
        if self._errors:
            raise self._errors[0] if len(self._errors) == 1 else ManyErrors(self._errors)
        return result

    def _lines(
        self, walk: str, rows: Sequence[tuple[int, tuple[str, ...]]]
    ) -> list[Walk | Count | Mummies | WalkLine]:
        result: list[Walk | Count | Mummies | WalkLine] = []
        for number, cells in rows:
            told_wrong = len(self._errors)
            looked, infested = self._whole(number, cells, "looked_at"), self._whole(number, cells, "infested")
            if len(self._errors) > told_wrong:
                continue
            if not looked or infested is None or infested > looked:
                self._refuse(
                    number,
                    say(
                        "{infested} infested of {looked} looked at",
                        infested=say("nothing") if infested is None else infested,
                        looked=say("nothing") if looked is None else looked,
                    ),
                    say("both numbers, infested no more than looked at"),
                    say("leave the row out if nothing was looked at"),
                )
                continue
            result.append(
                WalkLine(
                    walk=walk,
                    pest=self._pest_of(number, cells) if infested else "any",
                    looked_at=looked,
                    infested=infested,
                    aphids_about=self._whole(number, cells, "aphids"),
                    mummies_about=self._whole(number, cells, "mummies"),
                )
            )
        return result

    def _units(
        self, walk: str, rows: Sequence[tuple[int, tuple[str, ...]]]
    ) -> list[Walk | Count | Mummies | WalkLine]:
        result: list[Walk | Count | Mummies | WalkLine] = []
        unit_of: dict[str, int] = {}
        pests_on: dict[int, set[str]] = {}
        for number, cells in rows:
            aphids = self._text(cells, "aphids")
            if aphids is None:
                continue  # an empty cell was not looked at
            counted = _count(aphids)
            if counted is None:
                self._refuse(
                    number,
                    say("aphids {aphids!r}", aphids=aphids),
                    say("a whole number or one of {count_classes}", count_classes=", ".join(COUNT_CLASSES)),
                    say("a class such as 4to10 may have been turned into a date: format the column as text")
                    if re.search(r"\d.*[-/.a-z].*\d|[a-z]{3}", aphids.casefold())
                    else say(
                        "0 means looked and found none; leave the cell empty where nothing was looked at"
                    ),
                )
                continue
            pest = "any" if counted == "0" and "pest" not in self._at else self._pest_of(number, cells)
            plant = self._text(cells, "plant")
            unit = unit_of.setdefault(plant or say("row {number}", number=number), len(unit_of) + 1)
            if pest in pests_on.setdefault(unit, set()):
                # Without several aphids to tell apart, the same plant twice is two leaves of it.
                unit = unit_of.setdefault(
                    say("{plant} row {number}", plant=plant, number=number), len(unit_of) + 1
                )
            pests_on.setdefault(unit, set()).add(pest)
            result.append(
                Count(
                    walk=walk,
                    unit_no=unit,
                    pest=pest,
                    zone=self._text(cells, "zone"),
                    plant=plant,
                    aphids=counted,
                    winged=self._whole(number, cells, "winged"),
                    note=self._text(cells, "note"),
                )
            )
            for field, colour in (("mummies", "tan"), ("black_mummies", "black")):
                mummies = self._whole(number, cells, field)
                if mummies is not None:
                    result.append(Mummies(walk=walk, unit_no=unit, colour=colour, closed=mummies))
        return result

    def _text(self, cells: Sequence[str], field: str) -> str | None:
        at = self._at.get(field)
        return None if at is None else cells[at].strip() or None

    def _whole(self, number: int, cells: Sequence[str], field: str) -> int | None:
        text = self._text(cells, field)
        if text is None:
            return None
        if re.fullmatch(r"\d{1,6}", text):
            return int(text)
        self._refuse(
            number,
            f"{field.replace('_', ' ')} {text!r}",
            say("must be a whole number, 0 or more"),
            say("check it"),
        )
        return None

    def _pest_of(self, number: int, cells: Sequence[str]) -> str:
        word = self._text(cells, "pest") or self._pest
        try:
            return self._species(word)
        except OutpaceError as error:
            self._refuse(number, error.what, error.allowed, error.hint)
            return word

    def _refuse(self, number: int, what: str, allowed: str, hint: str) -> None:
        where = say("{where} row {number}", where=self._sheet.where, number=number)
        self._errors.append(OutpaceError(what, where=where, allowed=allowed, hint=hint))


def _count(text: str) -> str | None:
    """Return a count as the book keeps it: a whole number or a class, however the class was typed."""
    plain = re.sub(r"\s+", "", text.casefold()).replace("–", "-")
    if re.fullmatch(r"\d{1,5}", plain):
        return str(int(plain))
    plain = re.sub(r"^>100$|^100\+$|^101\+$", "over100", plain)
    plain = re.sub(r"^(\d+)-(\d+)$", r"\1to\2", plain)
    return plain if plain in COUNT_CLASSES else None


def _plain(name: str) -> str:
    return re.sub(r"\W+", "-", name.casefold()).strip("-")
