"""Every paper under outside eyes: a checker of PDF/UA by other authors, and a reader of codes by other authors."""

from __future__ import annotations

import io
import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import page
import pypdf
import pytest
import zxingcpp
from PIL import Image
from tests.season.kept_farm import HOUSE
from tests.season.test_season_review import WALKS, season
from tests.surfaces.sheets.test_forms import ANSWERS, ODD, places
from tests.surfaces.sheets.test_spray_signs import UNDECLARED

from outpace.season.release_map import release_map
from outpace.surfaces.sheets import (
    audit_pack,
    edge_sheet,
    forms,
    labels,
    mummy_card,
    season_pages,
    spray_signs,
    walk_plan,
    week_sheet,
)


def told(name: str):
    return json.loads((ANSWERS / f"{name}.json").read_text(encoding="utf-8"))


def released():
    return release_map(places(), HOUSE.house, "L-2201", number=900)


HEAD = "5d1c0fa2b7e96c44aa31"


def week() -> bytes:
    return week_sheet.render(told("ahead"), week_row=told("week")["houses"][0], head=HEAD)


PAPERS: dict[str, Callable[[], bytes]] = {
    "week sheet": week,
    "walk form": lambda: forms.walk_form(
        {"house": ODD, "crop": "sweet_pepper", "area_m2": 200.0, "plants": 400},
        "example cove",
        "2026-04-20",
        head=HEAD,
    ),
    "walk plan": lambda: walk_plan.render(told("walkplan"), head=HEAD),
    "arrival card": lambda: forms.arrival_card("example cove", "2026-04-20", head=HEAD),
    "release map": lambda: forms.release_sheet(released(), head=HEAD),
    "labels": lambda: labels.render(released(), head=HEAD),
    "mummy card": lambda: mummy_card.render(head=HEAD),
    "order sheet": lambda: forms.order_sheet({**told("order"), "farm": "moss bank"}, head=HEAD),
    "posting sheet": lambda: spray_signs.posting(UNDECLARED, head=HEAD),
    "visitors' sign": lambda: spray_signs.sign(UNDECLARED, head=HEAD),
    "audit pack": lambda: audit_pack.render({**told("audit"), "head": HEAD}),
    "edges of the season": lambda: edge_sheet.render(told("edges"), head=HEAD),
    "season review": lambda: season_pages.render({**season(*WALKS), "head": HEAD}),
}


def failures(pdf: bytes) -> list[str]:
    # Witness: the checker `page-validation`, which shares nothing with the writer; ISO 14289-1 (PDF/UA-1).
    report = page.validate_pdf_bytes(pdf, profile=page.ValidationProfile.PDF_UA_1)
    return [f"{failure.rule_id}: {failure.message}" for failure in report.failures]


@pytest.mark.parametrize("paper", PAPERS)
def test_a_paper_is_pdf_ua_to_a_checker_by_others(paper):
    assert failures(PAPERS[paper]()) == []


@pytest.mark.parametrize("paper", PAPERS)
def test_each_page_of_a_paper_carries_the_head_of_its_book_in_its_foot(paper):
    for sheet in pypdf.PdfReader(io.BytesIO(PAPERS[paper]())).pages:
        pieces: list[tuple[float, str]] = []
        sheet.extract_text(visitor_text=lambda text, at, *_, kept=pieces: kept.append((at[5], text)))
        # Labels end 12 mm (34 pt) above the edge of the sheet.
        foot = " ".join("".join(text for high, text in pieces if 0 < high < 34).split())
        assert f"book {HEAD[:16]}" in foot
        assert len(foot) < 200


def test_the_checker_sees_a_paper_that_does_not_say_it_is_tagged():
    broken = mummy_card.render().replace(b"/Marked true", b"/Marked false")
    assert failures(broken) != []


@pytest.mark.pdf
def test_each_label_as_printed_is_read_by_a_reader_of_codes(tmp_path: Path):
    answer = released()
    (tmp_path / "labels.pdf").write_bytes(labels.render(answer))
    subprocess.run(
        ["pdftoppm", "-r", "300", "-gray", "-png", "labels.pdf", "label"], cwd=tmp_path, check=True
    )
    read = [
        code.text
        for sheet in sorted(tmp_path.glob("label*.png"))
        for code in zxingcpp.read_barcodes(Image.open(sheet))
    ]
    expected = [
        f"{answer['lot']}; {answer['house']}; point {point['no']}; {answer['date']}"
        for point in answer["points"]
    ]
    assert sorted(read) == sorted(expected)
