"""The audit pack on paper: the same tables as its files, corrections, rules, and what they miss."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from outpace.surfaces.sheets import paper
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

MOST_KEYS = 12
"""So many keys of records that miss the same are printed; the files name all."""

MOST_ROWS = 2_500
"""A table of more rows is no paper: the files hold it."""

WIDE = ("what", "pests", "mummies", "others", "checks", "reason", "chosen", "finds", "sprays", "condition")
NARROW = (
    "bbch",
    "unit",
    "looked_at",
    "infested",
    "minutes",
    "points",
    "packs",
    "form",
    "verdict",
    "winged",
    "reentry_h",
    "harvest_interval_d",
)


def render(answer: Answer) -> bytes:
    """Return the audit pack as PDF."""
    span = f"{page.day(answer['from'], year=True)} to {page.day(answer['to'], year=True)}"
    place = answer["place"]
    blocks = [
        paper.title(f"{answer['farm']}: records", span),
        paper.line(answer["sentence"], bold=True),
        paper.line(
            f"Farm at latitude {place['latitude']:g}°, longitude {place['longitude']:g}°; country "
            f"{answer['country'] or 'not told'}; rules of {answer['region'] or 'no region'}. As known "
            f"{page.moment(answer['as_of'], year=True)}. Head of the book: {answer['head']}."
        ),
        paper.points(answer["cautions"]),
        *_lacking(answer["lacks"]),
    ]
    for section in answer["sections"]:
        blocks += _section(section)
    blocks += _corrections(answer["corrections"])
    blocks += _rules(answer["rules"])
    footer = f"{answer['farm']} · {span} · book {answer['head'][:16]}"
    return paper.document(f"Records of {answer['farm']}, {span}", blocks, footer=footer, size=8, flipped=True)


def _lacking(lacks: Sequence[Answer]) -> list[paper.Block]:
    blocks = [paper.heading("What is missing")]
    if not lacks:
        return [*blocks, paper.line("Nothing that the rules below ask for is empty.")]
    counted: Counter[tuple[bool, str, str, str]] = Counter()
    keys: dict[tuple[bool, str, str, str], list[str]] = {}
    for lack in lacks:
        for field in lack["fields"]:
            at = (not lack["law"], lack["section"], field, lack["rule"])
            counted[at] += 1
            keys.setdefault(at, []).append(str(lack["key"]))
    rows = []
    for at in sorted(counted):
        by_scheme, section, field, rule = at
        shown = ", ".join(keys[at][:MOST_KEYS])
        more = counted[at] - MOST_KEYS
        rows.append(
            (
                "audit schemes" if by_scheme else "law",
                section,
                field,
                counted[at],
                f"{shown} and {more} more" if more > 0 else shown,
                rule,
            )
        )
    header = ("asked by", "records", "empty", "times", "keys", "rule (check with your authority)")
    return [*blocks, paper.table(header, rows, widths=(0, 0, 0, 0, 3, 3))]


def _section(section: Answer) -> list[paper.Block]:
    rows = section["rows"]
    blocks = [paper.heading(f"{section['title']}: {len(rows)}")]
    if not rows:
        return [*blocks, paper.line("None written down in this span.")]
    if len(rows) > MOST_ROWS:
        told = f"Too many to print: {len(rows):,} rows. The files hold them; a shorter span prints."
        return [*blocks, paper.line(told)]
    filled = [
        at
        for at, column in enumerate(section["columns"])
        if column["name"] == "key" or any(row[at] is not None for row in rows)
    ]
    empty = [column["title"] for at, column in enumerate(section["columns"]) if at not in filled]
    order = [at for at in filled if section["columns"][at]["name"] != "key"]
    order += [at for at in filled if at not in order]
    names = [section["columns"][at]["name"] for at in order]
    narrow = (*NARROW, "chosen") if section["name"] == "scouting" else NARROW
    widths = [0.7 if name in narrow else 2 if name in WIDE else 1.2 for name in names]
    header = [section["columns"][at]["title"] for at in order]
    cells = [[paper.soft(shown(row[at]), most=16) for at in order] for row in rows]
    blocks.append(paper.table(header, cells, widths=widths, size=7 if len(order) <= 14 else 6))
    if empty:
        blocks.append(paper.line(f"Entered in none of them: {', '.join(empty)}."))
    return blocks


def shown(cell: object) -> str:
    """Return a cell as it is printed: a moment without its T and seconds, an empty one empty.

    Examples
    --------
    >>> shown("2026-04-20T09:30+02:00"), shown(None), shown(12.5)
    ('2026-04-20 09:30', '', '12.5')
    """
    if cell is None:
        return ""
    if isinstance(cell, float):
        return f"{cell:g}"
    text = str(cell)
    if len(text) >= 16 and text[4:5] == "-" and text[10:11] == "T" and text[13:14] == ":":
        return f"{text[:10]} {text[11:16]}"
    return text


def _corrections(corrections: Sequence[Answer]) -> list[paper.Block]:
    blocks = [paper.heading(f"Corrections: {len(corrections)}")]
    if not corrections:
        return [*blocks, paper.line("None: everything above stands as it was first written.")]
    rows = [
        (shown(row["at"]), row["by"], row["why"] or "not told", row["table"], row["key"], row["text"])
        for row in corrections
    ]
    header = ("when", "who", "why", "records", "key", "what was, and what is")
    return [*blocks, paper.table(header, rows, widths=(1, 1, 1.5, 0.8, 2, 5), size=7)]


def _rules(rules: Sequence[Answer]) -> list[paper.Block]:
    rows = [
        (
            rule["region"],
            rule["record"],
            ", ".join(rule["fields"]).replace("_", " ") or "kept",
            "" if rule["keep_y"] is None else f"{rule['keep_y']:g} years",
            rule["since"] or "not noted",
            "law" if rule["law"] else "audit schemes",
            rule["driver"] + (f" ({rule['note']})" if rule["note"] else ""),
            f"{rule['source'] or 'no source'}; {rule['evidence']}",
        )
        for rule in rules
    ]
    header = ("region", "records", "asks for", "keep", "since", "by", "rule", "where it was found; evidence")
    return [
        paper.heading("Rules looked through: check with your authority"),
        paper.table(header, rows, widths=(0, 0, 3, 0, 0, 0, 3, 2), size=7),
    ]
