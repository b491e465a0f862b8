"""The printed sheet, read back with a PDF reader that shares nothing with the writer."""

from __future__ import annotations

import builtins
import io
import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pypdf
import pytest

from outpace.errors import OutpaceError
from outpace.language import languages, say, speaking
from outpace.season.plan import EVEN_TWICE, what_is_left
from outpace.surfaces.sheets import week_sheet

EXAMPLES = Path(__file__).parent.parent / "answers"

A4_POINTS = (595.28, 841.89)  # ISO 216: 210 mm × 297 mm, at 72 points an inch


def example(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((EXAMPLES / f"{name}.json").read_text())
    return found


def words_of(pdf: bytes) -> str:
    told = subprocess.run(
        ["pdftotext", "-raw", "-", "-"], input=pdf, capture_output=True, check=True
    ).stdout.decode()
    return " ".join(told.split())


def sheet(answer: dict[str, Any]) -> bytes:
    week = example("week")
    return week_sheet.render(answer, week_row=week["houses"][0], head=week["book_head"])


@pytest.mark.pdf
def test_the_sheet_says_what_a_grower_needs_on_one_page_of_a4():
    content = sheet(example("ahead"))
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    assert len(pages) == 1
    assert [float(side) for side in pages[0].mediabox[2:]] == pytest.approx(A4_POINTS, abs=0.5)
    said = words_of(content)
    for part in (
        "south",
        "ISO week 17, Mon 20 Apr to Sun 26 Apr 2026",
        "sweet pepper · 1,200 m² · last walk 2 days ago",
        "Losing",
        "unlikely (11 %, 11 of 100 such houses)",
        "live aphids grew 1.9-fold between the last two walks",
        "Order on Tue 21 Apr before 14:00: 2 packs of Aphidius ervi.",
        "Release 500 Aphidius ervi at 8 points",
        "Who",
        "more than 6.4 live aphids per leaf by Fri 24 Apr",
        "no mummies by Wed 29 Apr",
        "gloves, a dust mask",
        "For your pen",
        "book 5d1c0fa2b7e96c44",
    ):
        assert part in said


def test_the_sheet_is_tagged_and_names_language_and_standard():
    reader = pypdf.PdfReader(io.BytesIO(sheet(example("ahead"))))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or bool(root["/MarkInfo"]["/Marked"])
    assert str(root["/Lang"]).startswith("en")
    # ISO 14289-1 (PDF/UA-1), clause 5: the file says which part it follows in its metadata.
    assert re.search(rb"pdfuaid:part(>|=\")1", root["/Metadata"].get_data())


HOSTILE = (
    '#import "/etc/passwd": *',
    "=cmd|' /C calc'!A0",
    "*bold* _low_ $x^2$ #panic()",
    "@ref <label> \\ `raw`",
)


@pytest.mark.pdf
@pytest.mark.parametrize("text", HOSTILE)
def test_what_people_wrote_stays_text(text):
    answer = example("ahead")
    answer["house"] = text
    answer["verdict"]["reasons"][0] = text
    answer["tasks"][0]["what"] = text
    answer["cautions"] = [text]
    plain = words_of(sheet(answer)).replace("’", "'").replace("‘", "'").replace("“", '"').replace("”", '"')
    assert plain.count(" ".join(text.split())) >= 4


@pytest.mark.pdf
def test_a_sheet_with_far_too_much_on_it_is_still_one_page():
    answer = example("ahead")
    answer["house"] = "Längstes Haus " * 40
    answer["farm"] = "A" * 500
    answer["sentence"] = "word " * 300
    answer["verdict"]["reasons"] = ["reason " * 100] * 9
    answer["tasks"] = [{**answer["tasks"][0], "what": "deed " * 200, "why": "since " * 200}] * 30
    answer["cautions"] = ["mind " * 200] * 20
    content = sheet(answer)
    assert len(pypdf.PdfReader(io.BytesIO(content)).pages) == 1
    assert "And 23 more" in words_of(content)


def test_a_letter_no_font_can_draw_does_not_cost_the_sheet():
    answer = example("ahead")
    answer["house"] = "大棚 🌱"
    assert len(pypdf.PdfReader(io.BytesIO(sheet(answer))).pages) == 1


@pytest.mark.pdf
def test_a_house_without_a_verdict_gets_its_tasks_and_no_chart_of_the_future():
    answer = example("ahead")
    answer["verdict"] = {
        "word": None,
        "stays_below": None,
        "ends_well": None,
        "horizon_d": None,
        "reasons": [],
    }
    answer["binding"], answer["pests"], answer["past"] = None, [], []
    answer["stale"] = {
        "days": 12,
        "times_grown": 9.0,
        "message": "Last walked 12 days ago: no forecast from it.",
    }
    said = words_of(sheet(answer))
    assert "No verdict" in said
    assert "Last walked 12 days ago" in said
    assert "Release 500 Aphidius ervi" in said
    assert "Dots: walks." in said
    assert "scenario" not in said


def test_without_the_extra_the_sheet_says_what_to_install(monkeypatch, tmp_path):
    real = builtins.__import__

    def without_typst(name: str, *rest: Any, **named: Any) -> Any:
        if name == "typst":
            raise ModuleNotFoundError(name)
        return real(name, *rest, **named)

    monkeypatch.setattr(builtins, "__import__", without_typst)
    with pytest.raises(OutpaceError) as told:
        week_sheet.write(example("ahead"), tmp_path / "sheet.pdf")
    assert told.value.hint == "`pip install outpace[pdf]`"
    assert list(tmp_path.iterdir()) == []


def test_writing_leaves_one_whole_file_or_a_plain_message(tmp_path):
    week_sheet.write(example("ahead"), tmp_path / "south.pdf")
    assert [path.name for path in tmp_path.iterdir()] == ["south.pdf"]
    with pytest.raises(OutpaceError, match="cannot write it"):
        week_sheet.write(example("ahead"), tmp_path / "nowhere" / "south.pdf")


@pytest.mark.pdf
def test_the_sheet_says_of_what_moment_its_orders_are_only_where_the_plan_is_older():
    answer = example("ahead")
    assert "older than this forecast" not in words_of(sheet(answer))
    said = words_of(sheet({**answer, "plan_of": "2026-04-21T06:05:00+02:00"}))
    assert "plan of Tue 21 Apr, 06:05, older than this forecast" in said


@pytest.mark.parametrize("language", languages())
def test_why_a_house_cannot_be_held_is_printed_whole(language):
    with speaking(language):
        told = what_is_left(say(EVEN_TWICE), 0.999, 27.9, 28.0)
        assert week_sheet.clip(told, week_sheet.WHY_LETTERS) == told
