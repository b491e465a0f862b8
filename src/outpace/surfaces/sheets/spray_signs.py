"""Paper for a sprayed house: the posting sheet for those who work there, the sign for visitors and children."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from outpace.errors import OutpaceError
from outpace.language import say, to_say
from outpace.measures import area
from outpace.surfaces.sheets.paper import tied
from outpace.surfaces.sheets.told import told
from outpace.surfaces.sheets.week_sheet import clip
from outpace.surfaces.text import page

Answer = Mapping[str, Any]

HERE = Path(__file__).parent
POSTING, SIGN = HERE / "spray_posting.typ", HERE / "spray_sign.typ"

NOT_ENTERED = to_say("not entered")
SHUT = ("unknown", "running")
WHO = (
    ("reentry", to_say("Going in")),
    ("picking", to_say("Picking")),
    ("bees", to_say("Bees")),
    ("release", to_say("Releases")),
)

RECORD = (
    ("product", to_say("Product"), ""),
    ("registration_no", to_say("Registration number"), ""),
    ("active", to_say("Active"), ""),
    ("action_group", to_say("Mode-of-action group"), ""),
    ("kind", to_say("Kind"), ""),
    ("crop", to_say("Crop"), ""),
    ("bbch", to_say("Growth stage (BBCH)"), ""),
    ("amount_total", to_say("Amount in all"), ""),
    ("area_m2", to_say("Area"), ""),
    ("reason", to_say("Reason"), ""),
    ("operator", to_say("Applied by"), ""),
    ("operator_licence", to_say("Licence"), ""),
    ("reentry_h", to_say("Keep out after the end"), to_say(" hours")),
    ("harvest_interval_d", to_say("Do not pick after the end"), to_say(" days")),
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


def write_sign(answer: Answer, path: Path, *, head: str = "") -> None:
    """Write the sign for visitors and children as a tagged PDF of one page; parameters as in `write_posting`.

    Raises
    ------
    OutpaceError
        Also if no spray holds people or picking back: a sign that hangs for nothing is not read the next time.
    """
    _write(_set(SIGN, sign_data(answer, head=head)), path)


def posting(answer: Answer, *, head: str = "") -> bytes:
    """Return the posting sheet as the bytes of a PDF."""
    return _set(POSTING, posting_data(answer, head=head))


def sign(answer: Answer, *, head: str = "") -> bytes:
    """Return the sign as the bytes of a PDF."""
    return _set(SIGN, sign_data(answer, head=head))


def posting_data(answer: Answer, *, head: str = "") -> dict[str, Any]:
    """Return what the posting sheet says, as text; the template only sets it."""
    (house,) = answer["houses"]
    name = clip(house["house"], 60)
    known = page.moment(answer["as_of"], year=True)
    tied = say(" · book {head}", head=clip(head[:16], 16)) if head else ""
    return {
        "title": say("{name}: sprayed, {known}", name=name, known=known),
        "house": name,
        "farm": clip(answer["farm"], 40),
        "as_of": say("as known {known}", known=known),
        "stand": [
            {
                "who": say(who),
                "words": _stood(house[clock]),
                "shut": house[clock]["state"] in SHUT,
            }
            for clock, who in WHO
        ],
        "sprays": [_spray(spray) for spray in answer["sprays"]],
        "mind": [
            say(
                "The label comes first, then the law where you work: this sheet repeats only what was "
                "entered here."
            ),
            say("Not entered means danger: keep out, do not pick, release nothing."),
            say(
                "Air the house as the label wants before anyone goes in; when that is done stands on no "
                "clock."
            ),
            *(clip(f"{clash['what']} ({clash['why']})", 220) for clash in answer["clashes"]),
        ],
        "footer": clip(
            say(
                "Posted for all who work in {name}. Print anew after each spray.{tied}", name=name, tied=tied
            ),
            150,
        ),
    }


def _stood(clock: Answer) -> str:
    words = clip(clock["words"], 240)
    return f"{words[:1].upper()}{words[1:]}."


def _spray(spray: Answer) -> dict[str, Any]:
    record = spray["record"]
    name = clip(spray["name"], 60)
    where = f", {clip(spray['zone'], 40)}" if spray.get("zone") else ""
    planned = say(" (planned)") if spray["planned"] else ""
    rows = [
        [say("Began"), page.moment(spray["start"], year=True)],
        [
            say("Ended"),
            page.moment(spray["end"], year=True)
            if spray["end"]
            else say("{not_entered}: no clock has started", not_entered=say(NOT_ENTERED)),
        ],
    ]
    dose = record.get("dose")
    rate = (
        say(NOT_ENTERED)
        if dose is None
        else f"{page.figure(dose)} {clip(record.get('dose_unit') or '', 20)}".strip()
    )
    for column, label, unit in RECORD:
        value = record.get(column)
        if column == "area_m2" and value is not None:
            value = area(value)
        rows.append(
            [say(label), _entered(page.name(value) if column == "crop" and value else value, say(unit))]
        )
        if column == "bbch":
            rows.append([say("Rate"), rate])
    rows += [[say(who), _stood(spray["clocks"][clock])] for clock, who in WHO]
    return {
        "heading": f"{name[:1].upper()}{name[1:]}{where}, {page.day(spray['start'], year=True)}{planned}",
        "rows": rows,
    }


def _entered(value: object, unit: str) -> str:
    if value is None:
        return say(NOT_ENTERED)
    if isinstance(value, int | float):
        return f"{page.figure(value)}{unit}"
    return clip(value, 90)


def sign_data(answer: Answer, *, head: str = "") -> dict[str, Any]:
    """Return what the sign says, as text; the template only sets it."""
    (house,) = answer["houses"]
    order, until = _ordered(house)
    shut = house["reentry"]["state"] != "over"
    lines = [
        say("Hold children by the hand. Keep animals away."),
        say("Do not touch the plants. Do not pick. Do not taste."),
        say("Only a person who works here takes this sign down, after the house was aired."),
    ]
    return {
        "title": f"{clip(house['house'], 60)}: {order}",
        "house": say("{house} was sprayed", house=clip(house["house"], 60))
        if house["reentry"]["state"] != "not begun"
        else say("{house} will be sprayed", house=clip(house["house"], 60)),
        "order": order,
        "until": until,
        "lines": lines,
        "mark": MARK,
        "mark_alt": say("A person behind a bar: do not go in")
        if shut
        else say("A person behind a bar: stop and read"),
        "footer": clip(
            say(
                "{farm} · as known {as_of}",
                farm=answer["farm"],
                as_of=page.moment(answer["as_of"], year=True),
            ),
            150,
        ),
        "head": tied(head),
    }


def _ordered(house: Answer) -> tuple[str, str]:
    """Return what the sign orders, and until when; the strictest order that holds."""
    for clock, order in (("reentry", say("Do not go in")), ("picking", say("Do not pick or taste"))):
        found = house[clock]
        if found["state"] == "unknown":
            return order, say("Nobody knows yet until when. Ask first.")
        if found["state"] == "running":
            return order, say(
                "until {until}, and as long as this sign hangs here", until=_minute(found["until"])
            )
    if house["reentry"]["state"] == "not begun":
        return (
            say("Do not go in"),
            say(
                "from {until} on, as long as this sign hangs here",
                until=page.moment(house["reentry"]["until"], year=True),
            ),
        )
    raise OutpaceError(
        say("no spray holds people or picking back in {house}", house=house["house"]),
        hint=say("no sign is needed; take the old one down after the house was aired"),
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
            say("printed sheets need the PDF extra, which is not installed"),
            hint="`pip install outpace[pdf]`",
        ) from None
    inputs = {"sheet": json.dumps(told(data, template.read_text(encoding="utf-8")))}
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
            say("cannot write it: {strerror}", strerror=error.strerror),
            where=f"`{path}`",
            hint=say("choose another place"),
        ) from error
