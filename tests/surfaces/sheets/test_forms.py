"""Paper to be filled or carried: page counts, the fields on it, and that what people wrote stays text."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pypdf
import pytest
from tests.season.kept_farm import FARM, HOUSE, LINE, LOT, NOW

from outpace.errors import OutpaceError
from outpace.season.release_map import release_map
from outpace.surfaces.sheets import forms, labels, mummy_card
from outpace.terms.tables import TABLE_OF, Snapshot

ODD = "south #strong[x] *y* $z$"
ANSWERS = Path(__file__).parents[1] / "answers"


def read(content):
    """Return the pages, the words and whether the file says it is tagged."""
    pdf = pypdf.PdfReader(io.BytesIO(content))
    words = " ".join(" ".join(page.extract_text() for page in pdf.pages).replace("\u200b", "").split())
    return len(pdf.pages), words, bool(pdf.trailer["/Root"].get("/MarkInfo", {}).get("/Marked"))


def places(house=HOUSE):
    tables = {}
    for row in (FARM, house, LINE, LOT):
        tables.setdefault(TABLE_OF[type(row)], []).append(row)
    return Snapshot(as_of=NOW, head="0", rows={name: tuple(found) for name, found in tables.items()})


@pytest.fixture(scope="module")
def answer():
    return release_map(places(), "south", "L-2201", number=900)


def test_the_walk_form_is_one_page_in_the_order_of_the_screen():
    house = {"house": ODD, "crop": "sweet_pepper", "area_m2": 200.0, "plants": 400}
    pages, words, tagged = read(forms.walk_form(house, "example cove", "2026-04-20"))
    assert (pages, tagged) == (1, True)
    assert "#strong[x]" in words
    order = [
        words.index(part) for part in ("which aphid", "1 to 3", "over 100", "tan mummies", "black", "winged")
    ]
    assert order == sorted(order)
    assert len(re.findall(r"\b(?:[1-9]|1\d|20)\b", words)) >= 20


def test_the_arrival_card_asks_for_each_field_of_a_delivery_and_fills_in_what_is_known():
    pages, words, tagged = read(forms.arrival_card("example cove", "2026-04-20"))
    assert (pages, tagged) == (1, True)
    # Source: records of a delivery, trade reference, section 3 (common practice).
    for field in (
        "Lot",
        "what it counts",
        "Supplier, order, invoice",
        "Packed",
        "Arrived",
        "Temperature",
        "Condition",
    ):
        assert field in words
    filled = read(
        forms.arrival_card("example cove", "2026-04-20", {"lot": "L-2201", "enemy": "aphidius_ervi"})
    )[1]
    assert "L-2201" in filled
    assert "Aphidius ervi" in filled
    lot = {
        "lot": "L-2201",
        "labelled_number": 500,
        "label_counts": "adults_expected",
        "packed": "2026-04-18",
        "arrived": "2026-04-20T00:30+02:00",
        "count_on": "2026-04-27",
    }
    filled = read(forms.arrival_card("example cove", "2026-04-20", lot))[1]
    for told in ("500, adults to come", "Sat 18 Apr 2026", "Mon 20 Apr 2026, 00:30", "Mon 27 Apr 2026"):
        assert told in filled


def test_noon_on_the_arrival_card_may_be_a_day_without_an_hour():
    for hour, told in (("12:00", True), ("12:30", False), ("00:00", False)):
        lot = {"lot": "L-2201", "arrived": f"2026-04-20T{hour}+02:00"}
        words = read(forms.arrival_card("example cove", "2026-04-20", lot))[1]
        assert f"Mon 20 Apr 2026, {hour}" in words
        assert ("(or no hour entered)" in words) == told


def test_the_points_of_a_release_hold_every_animal_and_stand_within_the_house(answer):
    assert sum(point["number"] for point in answer["points"]) == 900
    (plot,) = answer["plots"]
    assert plot["length_m"] * plot["width_m"] == pytest.approx(HOUSE.area_m2)
    for point in answer["points"]:
        assert 0 < point["along_m"] < plot["length_m"]
        assert 0 < point["across_m"] < plot["width_m"]


def test_how_many_are_for_a_house_is_asked_where_nobody_wrote_it():
    with pytest.raises(OutpaceError, match="not written down"):
        release_map(places(), "south", "L-2201")


def test_the_release_map_is_one_page_with_each_point_and_the_warnings(answer):
    pages, words, tagged = read(forms.release_sheet(answer))
    assert (pages, tagged) == (1, True)
    for wanted in ("L-2201", "Aphidius colemani", "ants", "drawn as a square", "dusk", "practice"):
        assert wanted in words


def test_there_is_a_label_for_each_point_and_65_to_a_page(answer):
    many = {**answer, "house": ODD, "points": [{**answer["points"][0], "no": n} for n in range(1, 67)]}
    pages, words, tagged = read(labels.render(many))
    assert (pages, tagged) == (2, True)
    assert words.count("L-2201") == 66


def test_a_label_is_38_by_21_mm():
    template = (Path(labels.__file__).parent / "labels.typ").read_text(encoding="utf-8")
    assert "width: 38mm, height: 21mm" in template
    # Five of 38 mm and thirteen of 21 mm fill an A4 page of 210 by 297 mm less its margins of 10 and 12 mm.
    assert (210 - 20) / 38 == 5
    assert (297 - 24) / 21 == 13


def test_the_code_on_a_label_is_drawn_whole():
    drawn = labels.code_svg("L-2201; south; point 1")
    assert drawn.startswith("<svg")
    assert "path" in drawn


def test_the_mummy_card_asks_the_colour_before_the_hole():
    pages, words, tagged = read(mummy_card.render())
    assert (pages, tagged) == (1, True)
    assert words.index("First the colour") < words.index("ragged hole")
    assert "no alarm" in words
    # Source: exact binomial, none ragged of 20: 0 to 16.8 % (R epiR and statsmodels agree).
    assert "17 of 100" in words


def test_the_order_sheet_says_packs_cut_off_and_cost():
    order = json.loads((ANSWERS / "order.json").read_text(encoding="utf-8"))
    pages, words, tagged = read(forms.order_sheet({**order, "farm": "moss bank"}))
    assert "moss bank" in words
    assert (pages, tagged) == (1, True)
    for wanted in ("Invented Supply Two", "Aphidius ervi", "14:00", "EUR 109.00", "Received by"):
        assert wanted in words
    assert "do not send it yet" not in words


def test_an_order_that_waits_for_a_walk_is_not_printed_as_one_to_send():
    order = json.loads((ANSWERS / "order.json").read_text(encoding="utf-8"))
    later = [{**each, "provisional": True} for each in order["orders"]]
    words = read(forms.order_sheet({**order, "orders": later, "farm": "moss bank"}))[1]
    assert "Provisional: do not send it yet." in words
    assert "Sent, by whom" not in words
