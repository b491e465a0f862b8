"""The audit pack: what a farm has written down in a span of days, what was corrected, what is missing by which rule."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.record_rules import CHECK, RecordRule, region_of, rules_for
from outpace.language import say, say_many
from outpace.records.changes import Change
from outpace.season.audit_tables import SECTIONS, Section, Within, within
from outpace.season.changed import changes_answer
from outpace.season.moments import day, local_iso
from outpace.season.names import pick_farm, zone_of_farm
from outpace.season.open_book import Book, moment_of
from outpace.season.words import weekday
from outpace.terms.place import Farm

READ = (
    "farm",
    "houses",
    "crop_stages",
    "plants_in",
    "walks",
    "counts",
    "mummies",
    "seen",
    "walk_lines",
    "cards",
    "orders",
    "lots",
    "checks",
    "releases",
    "bankers",
    "sprays",
    "harvests",
    "decisions",
    "permits",
)
NOT_TOLD = (None, "unknown")
"""What leaves a field open that a rule asks for; that nobody could tell it stands in the table all the same."""

TIMES = ("time", "start", "arrived", "set_out")


def audit(
    book: Book, first: str, last: str, *, farm: str | None = None, as_of: str | None = None
) -> dict[str, Any]:
    """Return the records of a span of days as tables, with corrections, rules, and what the rules miss.

    Parameters
    ----------
    first, last : str
        Days as typed; both belong to the span.

    Raises
    ------
    OutpaceError
        If a day cannot be read, or the last lies before the first.
    """
    begins, ends = day(first, where="`--from`"), day(last, where="`--to`")
    if ends < begins:
        raise OutpaceError(
            say("{ends} lies before {begins}", ends=ends, begins=begins),
            where="`--to`",
            hint=say("swap the two days"),
            code=ExitCode.USAGE,
        )
    moment = moment_of(book, as_of, farm)
    known = book.snapshot(moment, only={name: {} for name in READ})
    there = pick_farm(known, farm)
    zone = zone_of_farm(there)
    span = within(there, begins, ends)
    rules = rules_for(there.country)
    sections: list[dict[str, Any]] = []
    lacks: list[dict[str, Any]] = []
    walks: set[str] = set()
    filled: dict[str, list[dict[str, Any]]] = {}
    for section in SECTIONS:
        # A permit holds on; the day on which it was looked up may lie before the span.
        reach = within(there, date.min, ends) if section.name == "permits" else span
        rows = list(section.rows(known, there, reach))
        if section.name == "scouting":
            walks = {key for key, _ in rows}
        names = [name for name, _ in section.columns]
        sections.append(
            {
                "name": section.name,
                "title": say(section.title),
                "columns": [{"name": "key", "title": say("key")}]
                + [{"name": name, "title": say(title)} for name, title in section.columns],
                "rows": [[key, *(cells.get(name) for name in names)] for key, cells in rows],
            }
        )
        lacks += _lacks(section, rows, rules)
        filled[section.name] = [cells for _, cells in rows]
    lacks += _permits_lacking(filled["arrivals"], filled["permits"], there, rules)
    changes = [change for change in book.changes(READ, moment) if _belongs(change, there, span, walks)]
    total = sum(len(section["rows"]) for section in sections)
    by_law = len({(lack["section"], lack["key"]) for lack in lacks if lack["law"]})
    return {
        "schema": "outpace.audit/1",
        "sentence": _sentence(there, begins, ends, total, by_law),
        "farm": there.farm,
        "country": there.country,
        "region": region_of(there.country),
        "place": {"latitude": there.latitude, "longitude": there.longitude},
        "from": begins.isoformat(),
        "to": ends.isoformat(),
        "as_of": local_iso(known.as_of, zone),
        "head": book.head(moment),
        "sections": sections,
        "corrections": changes_answer(changes, zone),
        "lacks": lacks,
        "rules": [_rule(rule) for rule in rules],
        "cautions": _cautions(there, ends, known.as_of.astimezone(zone).date()),
    }


def _sentence(farm: Farm, first: date, last: date, total: int, by_law: int) -> str:
    missing = (
        say("add nothing, no law in this pack asks for more")
        if not by_law
        else say_many(
            "complete {n} record, a law asks for more",
            "complete {n} records, a law asks for more",
            by_law,
        )
    )
    return say_many(
        "{farm}, {first} {year} to {last} {year2}: {n:,} record; {missing}.",
        "{farm}, {first} {year} to {last} {year2}: {n:,} records; {missing}.",
        total,
        farm=farm.farm,
        first=weekday(first),
        year=first.year,
        last=weekday(last),
        year2=last.year,
        missing=missing,
    )


def _lacks(
    section: Section, rows: Iterable[tuple[str, dict[str, Any]]], rules: Sequence[RecordRule]
) -> list[dict[str, Any]]:
    """Return for each row and rule the columns that the rule asks for and nobody entered."""
    asked = [rule for rule in rules if rule.record == section.name and rule.fields]
    if not asked:
        return []
    titles = dict(section.columns)
    found = []
    for key, cells in rows:
        when = next((cells[name] for name in TIMES if cells.get(name)), None)
        for rule in asked:
            if when is not None and not rule.holds_on(date.fromisoformat(str(when)[:10])):
                continue
            absent = [say(titles.get(name, name)) for name in rule.fields if cells.get(name) in NOT_TOLD]
            if absent:
                found.append(
                    {
                        "section": section.name,
                        "key": key,
                        "time": when,
                        "house": cells.get("house"),
                        "fields": absent,
                        "law": rule.is_law,
                        "rule": rule.driver,
                    }
                )
    return found


def _permits_lacking(
    arrivals: Iterable[dict[str, Any]],
    permits: Iterable[dict[str, Any]],
    farm: Farm,
    rules: Sequence[RecordRule],
) -> list[dict[str, Any]]:
    """Return each enemy that came and of which no permit or list entry was noted, where a rule asks for one."""
    looked_up = {row["enemy"] for row in permits if row["country"] == farm.country}
    first: dict[str, str | None] = {}
    for row in arrivals:
        if row["enemy"] not in looked_up:
            first.setdefault(row["enemy"], row["arrived"])
    return [
        {
            "section": "permits",
            "key": enemy,
            "time": when,
            "house": None,
            "fields": [say("seen"), say("number")],
            "law": rule.is_law,
            "rule": rule.driver,
        }
        for rule in rules
        if rule.record == "permits"
        for enemy, when in first.items()
    ]


def _belongs(change: Change, farm: Farm, span: Within, walks: set[str]) -> bool:
    was = change.was
    if "walk" in was and "farm" not in was:
        return was["walk"] in walks
    if was.get("farm", farm.farm) != farm.farm:
        return False
    told = [value for row in (was, change.now or {}) for name in TIMES if (value := row.get(name))]
    if not told:  # houses, orders and checks of no day of their own: when the change itself was made
        return span.holds(change.at)
    return any(span.holds(moment) for moment in told)


def _rule(rule: RecordRule) -> dict[str, Any]:
    return {
        "region": rule.region,
        "record": rule.record,
        "fields": list(rule.fields),
        "keep_y": rule.keep_y,
        "since": rule.since or None,
        "law": rule.is_law,
        "driver": rule.driver,
        "source": ", ".join(part for part in (rule.source, rule.locator) if part) or None,
        "evidence": rule.evidence,
        "note": rule.note or None,
        "check": say(CHECK),
    }


def _cautions(farm: Farm, last: date, today: date) -> list[str]:
    told = [
        say("Rules change and differ from place to place: {check} before you rely on them.", check=say(CHECK))
    ]
    if region_of(farm.country) is None:
        untold = say("before the farm's country is told (`outpace farm NAME --country`)")
        which = say("for {country}", country=farm.country) if farm.country else untold
        told.append(
            say(
                "No rules are kept {which}: only what audit schemes ask for in general is looked through.",
                which=which,
            )
        )
    if last > today:
        told.append(say("The span ends after {today}: what is still to come is not in it.", today=today))
    told.append(
        say("A time of 12:00 may be a day entered without an hour: the book keeps such a day as its noon.")
    )
    told.append(say("Empty means not entered, and is never the same as zero."))
    return told
