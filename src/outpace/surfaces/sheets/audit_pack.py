"""The audit pack on paper: the same tables as its files, corrections, rules, and what they miss."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from outpace.language import say
from outpace.surfaces.sheets import paper
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

MOST_KEYS = 12
"""So many keys of records that miss the same are printed; the files name all."""

MOST_ROWS = 2_500
"""A table of more rows is no paper: the files hold it."""

LONGEST_WORD = 14
"""So many letters of a key fit into its column."""

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
    span = say(
        "{from_} to {to}", from_=page.day(answer["from"], year=True), to=page.day(answer["to"], year=True)
    )
    place = answer["place"]
    titles = {section["name"]: section["title"] for section in answer["sections"]}
    columns = {
        (section["name"], column["name"]): column["title"]
        for section in answer["sections"]
        for column in section["columns"]
    }
    blocks = [
        paper.title(say("{farm}: records", farm=answer["farm"]), span),
        paper.line(answer["sentence"], bold=True),
        paper.line(
            say(
                "Farm at latitude {latitude:g}°, longitude {longitude:g}°; country {country}; rules of "
                "{region}. As known {as_of}. Head of the book: {head}.",
                latitude=place["latitude"],
                longitude=place["longitude"],
                country=answer["country"] or say("not told"),
                region=answer["region"] or say("no region"),
                as_of=page.moment(answer["as_of"], year=True),
                head=answer["head"],
            )
        ),
        paper.points(answer["cautions"]),
        *_lacking(answer["lacks"], titles),
    ]
    for section in answer["sections"]:
        blocks += _section(section)
    blocks += _corrections(answer["corrections"])
    blocks += _rules(answer["rules"], titles, columns)
    footer = say("{farm} · {span} · book {head}", farm=answer["farm"], span=span, head=answer["head"][:16])
    return paper.document(
        say("Records of {farm}, {span}", farm=answer["farm"], span=span),
        blocks,
        footer=footer,
        size=8,
        flipped=True,
    )


def _lacking(lacks: Sequence[Answer], titles: Mapping[str, str]) -> list[paper.Block]:
    blocks = [paper.heading(say("What is missing"))]
    if not lacks:
        return [*blocks, paper.line(say("Nothing that the rules below ask for is empty."))]
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
                say("audit schemes") if by_scheme else say("law"),
                titles.get(section, section),
                field,
                counted[at],
                say("{shown} and {more} more", shown=shown, more=more) if more > 0 else shown,
                rule,
            )
        )
    header = (
        say("asked by"),
        say("records"),
        say("empty"),
        say("times"),
        say("keys"),
        say("rule (check with your authority)"),
    )
    return [*blocks, paper.table(header, rows, widths=(0, 0, 0, 0, 3, 3))]


def _section(section: Answer) -> list[paper.Block]:
    rows = section["rows"]
    blocks = [paper.heading(f"{section['title']}: {len(rows)}")]
    if not rows:
        return [*blocks, paper.line(say("None written down in this span."))]
    if len(rows) > MOST_ROWS:
        told = say(
            "Too many to print: {rows:,} rows. The files hold them; a shorter span prints.", rows=len(rows)
        )
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
    cells = [[shown(row[at]) for at in order] for row in rows]
    blocks.append(
        paper.table(header, cells, widths=widths, size=7 if len(order) <= 14 else 6, longest=LONGEST_WORD)
    )
    if empty:
        blocks.append(paper.line(say("Entered in none of them: {empty}.", empty=", ".join(empty))))
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
    blocks = [paper.heading(say("Corrections: {corrections}", corrections=len(corrections)))]
    if not corrections:
        return [*blocks, paper.line(say("None: everything above stands as it was first written."))]
    rows = [
        (shown(row["at"]), row["by"], row["why"] or say("not told"), row["table"], row["key"], row["text"])
        for row in corrections
    ]
    header = (say("when"), say("who"), say("why"), say("records"), say("key"), say("what was, and what is"))
    return [*blocks, paper.table(header, rows, widths=(1, 1, 1.5, 0.8, 2, 5), size=7)]


def _rules(
    rules: Sequence[Answer], titles: Mapping[str, str], columns: Mapping[tuple[str, str], str]
) -> list[paper.Block]:
    rows = [
        (
            rule["region"],
            titles.get(rule["record"], rule["record"]),
            ", ".join(columns.get((rule["record"], name), name) for name in rule["fields"])
            or say("that they are kept"),
            say("not told") if rule["keep_y"] is None else say("{keep_y:g} years", keep_y=rule["keep_y"]),
            rule["since"] or say("not noted"),
            say("law") if rule["law"] else say("audit schemes"),
            rule["driver"] + (f" ({rule['note']})" if rule["note"] else ""),
            f"{rule['source'] or say('no source')}; {say(rule['evidence'])}",
        )
        for rule in rules
    ]
    header = (
        say("region"),
        say("records"),
        say("asks for"),
        say("keep"),
        say("since"),
        say("by"),
        say("rule"),
        say("where it was found; evidence"),
    )
    return [
        paper.heading(say("Rules looked through: check with your authority")),
        paper.table(header, rows, widths=(0, 0, 3, 0, 0, 0, 3, 2), size=7),
    ]
