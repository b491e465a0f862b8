"""Posting sheet and sign, read back with a PDF reader that shares nothing with the writer."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from typing import Any

import pypdf
import pytest
from tests.season.sprayed_house import FULL, HOUSE, NOW, known, parcel, spray
from tests.surfaces.sheets.test_week_sheet import A4_POINTS, HOSTILE, words_of

from outpace.errors import OutpaceError
from outpace.season.spray_standing import spray_answer
from outpace.surfaces.sheets import spray_signs


def answer(*rows: Any, **more: Any) -> dict[str, Any]:
    return spray_answer(known(*rows, **more), HOUSE.house)


UNDECLARED = answer(spray(), *parcel())
DECLARED = answer(
    spray(
        **FULL,
        registration_no="R-1",
        active="invented active",
        amount_total=1.5,
        area_m2=240.0,
        dose=2.0,
        dose_unit="g/l",
        crop="sweet_pepper",
        operator="Ida",
        operator_licence="L-9",
        reason="mildew",
    )
)


@pytest.mark.pdf
def test_the_posting_sheet_of_an_undeclared_spray_warns_everyone_and_shows_no_zero():
    said = words_of(spray_signs.posting(UNDECLARED, head="5d1c0fa2b7e96c44aa"))
    for part in (
        "Going in Keep out, read the label (not entered: when it ended, how long to keep out).",
        "Picking Do not pick, read the label",
        "Bees Hive closed or out, until when?",
        "Releases No release here",
        "Ended not entered: no clock has started",
        "Keep out after the end not entered",
        "Rate not entered",
        "Release no 500 Aphidius colemani here",
        "Not entered means danger",
        "Air the house as the label wants",
        "book 5d1c0fa2b7e96c44",
    ):
        assert part in said
    assert not re.search(r"\b0 (hours|days)\b", said)


# Source: fields of treatment records: EU 1107/2009 Art. 67(1) (read): product, time, dose, area, crop; United States
# worker protection (recalled): product, registration number, active, site, date, start and end, re-entry interval.
@pytest.mark.pdf
def test_the_posting_sheet_shows_every_field_that_records_of_treatments_ask_for():
    said = words_of(spray_signs.posting(DECLARED))
    for part in (
        "Product invented wettable sulphur",
        "Registration number R-1",
        "Active invented active",
        "Rate 2 g/l",
        "Amount in all 1.5",
        "Area 240 m²",
        "Crop sweet pepper",
        "Reason mildew",
        "Applied by Ida",
        "Licence L-9",
        "Began Wed 22 Apr 2026, 18:00",
        "Ended Wed 22 Apr 2026, 19:00",
        "Keep out after the end 24 hours",
        "Do not pick after the end 3 days",
        "Keep out until Thu 23 Apr, 19:00, and until it is aired",
        "Do not pick until Sat 25 Apr, 19:00",
        "Hive closed or out until Thu 23 Apr, 19:00",
        "No release before Wed 29 Apr, 19:00",
    ):
        assert part in said


@pytest.mark.pdf
def test_the_sign_of_an_undeclared_spray_names_no_day():
    said = words_of(spray_signs.sign(UNDECLARED))
    assert "Do not go in Long tunnel was sprayed Nobody knows yet until when. Ask first." in said
    assert "Hold children by the hand" in said
    assert "Do not touch the plants. Do not pick. Do not taste." in said
    assert "until Thu" not in said


@pytest.mark.pdf
def test_the_sign_says_until_when_and_never_less_than_the_sign_itself():
    said = words_of(spray_signs.sign(DECLARED))
    assert "until Thu 23 Apr 2026, 19:00, and as long as this sign hangs here" in said


def test_after_the_re_entry_the_sign_still_keeps_hands_off_the_crop():
    data = spray_signs.sign_data(answer(spray(**FULL), now=NOW + timedelta(days=1)))
    assert data["order"] == "Do not pick or taste"
    assert data["until"] == "until Sat 25 Apr 2026, 19:00, and as long as this sign hangs here"


def test_a_planned_spray_has_its_sign_before_it_begins():
    planned = {**FULL, "start": FULL["start"] + timedelta(days=3), "end": None, "bees_out_until": None}
    data = spray_signs.sign_data(answer(spray(**planned)))
    assert data["house"] == "Long tunnel will be sprayed"
    assert data["until"].startswith("from Sat 25 Apr 2026, 18:00")


def test_no_sign_hangs_for_nothing():
    with pytest.raises(OutpaceError, match="no spray holds people"):
        spray_signs.sign_data(answer(spray(**FULL), now=NOW + timedelta(days=60)))


def test_a_wait_that_ends_within_a_minute_is_said_a_minute_longer():
    odd = {**FULL, "end": FULL["end"] + timedelta(seconds=1)}
    assert "19:01" in spray_signs.sign_data(answer(spray(**odd)))["until"]


@pytest.mark.parametrize("made", [spray_signs.posting, spray_signs.sign])
def test_both_sheets_are_a4_tagged_and_in_the_accessible_standard(made):
    reader = pypdf.PdfReader(io.BytesIO(made(UNDECLARED)))
    assert [float(side) for side in reader.pages[0].mediabox[2:]] == pytest.approx(A4_POINTS, abs=0.5)
    root = reader.trailer["/Root"]
    assert bool(root["/MarkInfo"]["/Marked"])
    # ISO 14289-1 (PDF/UA-1), clause 5: the file says which part it follows in its metadata.
    assert re.search(rb"pdfuaid:part(>|=\")1", root["/Metadata"].get_data())


@pytest.mark.parametrize("made", [spray_signs.posting, spray_signs.sign])
def test_both_sheets_are_black_on_white(made):
    content = b"".join(
        page.get_contents().get_data() for page in pypdf.PdfReader(io.BytesIO(made(UNDECLARED))).pages
    )
    # ISO 32000-1, table 74: rg, RG and sc with three numbers set a colour; equal numbers are grey.
    colours = re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG|sc|SC|scn|SCN)\b", content)
    assert [colour for colour in colours if len(set(colour)) > 1] == []


@pytest.mark.pdf
@pytest.mark.parametrize("text", HOSTILE)
def test_what_people_wrote_stays_text(text):
    told = answer(spray(**{**FULL, "product": text}, reason=text, operator=text))
    told["houses"][0]["house"] = text
    plain = (
        words_of(spray_signs.posting(told))
        .replace("’", "'")
        .replace("‘", "'")
        .replace("“", '"')
        .replace("”", '"')
    )
    assert plain.count(" ".join(text.split())) >= 4
    shown = words_of(spray_signs.sign(told)).replace("’", "'").replace("‘", "'")
    assert " ".join(text.split()) in shown


def test_a_sign_with_an_endless_name_is_still_one_page():
    told = answer(spray())
    told["houses"][0]["house"] = "Längstes Haus " * 40
    assert len(pypdf.PdfReader(io.BytesIO(spray_signs.sign(told))).pages) == 1


def test_writing_leaves_one_whole_file_or_a_plain_message(tmp_path):
    spray_signs.write_sign(UNDECLARED, tmp_path / "sign.pdf")
    assert [path.name for path in tmp_path.iterdir()] == ["sign.pdf"]
    with pytest.raises(OutpaceError, match="cannot write it"):
        spray_signs.write_posting(UNDECLARED, tmp_path / "nowhere" / "sheet.pdf")
