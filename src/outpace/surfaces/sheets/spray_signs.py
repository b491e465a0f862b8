"""Paper for a sprayed house: the posting sheet for those who work there, the sign for visitors and children."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from outpace.errors import OutpaceError
from outpace.surfaces.sheets.week_sheet import clip
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

HERE = Path(__file__).parent
POSTING, SIGN = HERE / "spray_posting.typ", HERE / "spray_sign.typ"

NOT_ENTERED = "not entered"
SHUT = ("unknown", "running")
WHO = (("reentry", "Going in"), ("picking", "Picking"), ("bees", "Bees"), ("release", "Releases"))

RECORD = (
    ("product", "Product", ""),
    ("registration_no", "Registration number", ""),
    ("active", "Active", ""),
    ("action_group", "Mode-of-action group", ""),
    ("kind", "Kind", ""),
    ("crop", "Crop", ""),
    ("bbch", "Growth stage (BBCH)", ""),
    ("amount_total", "Amount in all", ""),
    ("area_m2", "Area", " m²"),
    ("reason", "Reason", ""),
    ("operator", "Applied by", ""),
    ("operator_licence", "Licence", ""),
    ("reentry_h", "Keep out after the end", " hours"),
    ("harvest_interval_d", "Do not pick after the end", " days"),
)

# A person behind a bar: drawn for this sign, in black on white.
MARK = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">
<rect width="100" height="100" fill="#fff"/>
<circle cx="50" cy="29" r="8" fill="#000"/>
<path d="M38 42h24l4 22h-7l-2 18h-14l-2-18h-7z" fill="#000"/>
<path d="M20 20L80 80" stroke="#fff" stroke-width="15"/>
<path d="M20 20L80 80" stroke="#000" stroke-width="8"/>
<circle cx="50" cy="50" r="43" fill="none" stroke="#000" stroke-width="8"/>
</svg>"""


def write_posting(answer: Answer, path: Path, *, head: str = "") -> None:
    """Write the posting sheet of one house as a tagged PDF.

    Parameters
    ----------
    answer : mapping
        The answer of ``outpace spray show HOUSE``.
    path : Path
        Where to; the file is there whole or not at all.
    head : str
        The head of the book, printed so that the sheet can be tied to what was recorded.

    Raises
    ------
    OutpaceError
        If the PDF extra is not installed, or the file cannot be written.
    """
    _write(_set(POSTING, posting_data(answer, head=head)), path)


def write_sign(answer: Answer, path: Path) -> None:
    """Write the sign for visitors and children as a tagged PDF of one page; parameters as in `write_posting`.

    Raises
    ------
    OutpaceError
        Also if no spray holds people or picking back: a sign that hangs for nothing is not read the next time.
    """
    _write(_set(SIGN, sign_data(answer)), path)


def posting(answer: Answer, *, head: str = "") -> bytes:
    """Return the posting sheet as the bytes of a PDF."""
    return _set(POSTING, posting_data(answer, head=head))


def sign(answer: Answer) -> bytes:
    """Return the sign as the bytes of a PDF."""
    return _set(SIGN, sign_data(answer))


def posting_data(answer: Answer, *, head: str = "") -> dict[str, Any]:
    """Return what the posting sheet says, as text; the template only sets it."""
    (house,) = answer["houses"]
    name = clip(house["house"], 60)
    known = page.moment(answer["as_of"], year=True)
    tied = f" · book {clip(head[:16], 16)}" if head else ""
    return {
        "title": f"{name}: sprayed, {known}",
        "house": name,
        "farm": clip(answer["farm"], 40),
        "as_of": f"as known {known}",
        "stand": [
            {
                "who": who,
                "words": _stood(house[clock]),
                "shut": house[clock]["state"] in SHUT,
            }
            for clock, who in WHO
        ],
        "sprays": [_spray(spray) for spray in answer["sprays"]],
        "mind": [
            "The label comes first, then the law where you work: this sheet repeats only what was entered here.",
            "Not entered means danger: keep out, do not pick, release nothing.",
            "Air the house as the label wants before anyone goes in; when that is done stands on no clock.",
            *(clip(f"{clash['what']} ({clash['why']})", 220) for clash in answer["clashes"]),
        ],
        "footer": clip(f"Posted for all who work in {name}. Print anew after each spray.{tied}", 150),
    }


def _stood(clock: Answer) -> str:
    words = clip(clock["words"], 240)
    return f"{words[:1].upper()}{words[1:]}."


def _spray(spray: Answer) -> dict[str, Any]:
    record = spray["record"]
    name = clip(spray["name"], 60)
    where = f", {clip(spray['zone'], 40)}" if spray.get("zone") else ""
    planned = " (planned)" if spray["planned"] else ""
    rows = [
        ["Began", page.moment(spray["start"], year=True)],
        [
            "Ended",
            page.moment(spray["end"], year=True) if spray["end"] else f"{NOT_ENTERED}: no clock has started",
        ],
    ]
    dose = record.get("dose")
    rate = (
        NOT_ENTERED
        if dose is None
        else f"{page.figure(dose)} {clip(record.get('dose_unit') or '', 20)}".strip()
    )
    for column, label, unit in RECORD:
        value = record.get(column)
        rows.append([label, _entered(page.name(value) if column == "crop" and value else value, unit)])
        if column == "bbch":
            rows.append(["Rate", rate])
    rows += [[who, _stood(spray["clocks"][clock])] for clock, who in WHO]
    return {
        "heading": f"{name[:1].upper()}{name[1:]}{where}, {page.day(spray['start'], year=True)}{planned}",
        "rows": rows,
    }


def _entered(value: object, unit: str) -> str:
    if value is None:
        return NOT_ENTERED
    if isinstance(value, int | float):
        return f"{page.figure(value)}{unit}"
    return clip(value, 90)


def sign_data(answer: Answer) -> dict[str, Any]:
    """Return what the sign says, as text; the template only sets it."""
    (house,) = answer["houses"]
    order, until = _ordered(house)
    shut = house["reentry"]["state"] != "over"
    lines = [
        "Hold children by the hand. Keep animals away.",
        "Do not touch the plants. Do not pick. Do not taste.",
        "Only a person who works here takes this sign down, after the house was aired.",
    ]
    return {
        "title": f"{clip(house['house'], 60)}: {order}",
        "house": f"{clip(house['house'], 60)} was sprayed"
        if house["reentry"]["state"] != "not begun"
        else f"{clip(house['house'], 60)} will be sprayed",
        "order": order,
        "until": until,
        "lines": lines,
        "mark": MARK,
        "mark_alt": "A person behind a bar: do not go in" if shut else "A person behind a bar: stop and read",
        "footer": clip(f"{answer['farm']} · as known {page.moment(answer['as_of'], year=True)}", 150),
    }


def _ordered(house: Answer) -> tuple[str, str]:
    """Return what the sign orders, and until when; the strictest order that holds."""
    for clock, order in (("reentry", "Do not go in"), ("picking", "Do not pick or taste")):
        found = house[clock]
        if found["state"] == "unknown":
            return order, "Nobody knows yet until when. Ask first."
        if found["state"] == "running":
            return order, f"until {_minute(found['until'])}, and as long as this sign hangs here"
    if house["reentry"]["state"] == "not begun":
        return (
            "Do not go in",
            f"from {page.moment(house['reentry']['until'], year=True)} on, as long as this sign hangs here",
        )
    raise OutpaceError(
        f"no spray holds people or picking back in {house['house']}",
        hint="no sign is needed; take the old one down after the house was aired",
    )


def _minute(when: str) -> str:
    moment = datetime.fromisoformat(when)
    if moment.second:
        moment += timedelta(minutes=1)
    return page.moment(moment.isoformat(timespec="minutes"), year=True)


def _set(template: Path, data: Mapping[str, Any]) -> bytes:
    try:
        import typst
    except ModuleNotFoundError:
        raise OutpaceError(
            "printed sheets need the PDF extra, which is not installed", hint="pip install outpace[pdf]"
        ) from None
    inputs = {"sheet": json.dumps(data)}
    try:
        return bytes(typst.compile(template.read_bytes(), sys_inputs=inputs, pdf_standards=["ua-1"]))
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
        # A letter that no font here can draw rules out the accessible standard; the warning still has to hang.
        return bytes(typst.compile(template.read_bytes(), sys_inputs=inputs))


def _write(content: bytes, path: Path) -> None:
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_bytes(content)
        os.replace(beside, path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise OutpaceError(
            f"cannot write it: {error.strerror}", where=f"`{path}`", hint="choose another place"
        ) from error
