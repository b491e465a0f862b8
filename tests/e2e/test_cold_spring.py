"""A cold spring: before mummies can show, finding none means nothing; after their latest day it does."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tests.e2e.command_line import CommandLine
from tests.e2e.invented_houses import (
    HOUSE,
    write_hours,
    write_packs,
    write_place,
    write_release,
    write_walks,
)

from outpace.surfaces.sheets.week_sheet import sheet_data

RELEASE = date(2026, 3, 16)
FIRST = RELEASE - timedelta(days=14)
DEGC = 12.0


def after(days):
    return RELEASE + timedelta(days=days)


def a_book(folder, mummies):
    """Record one season; ``mummies`` found on each walk after the release, None where nobody looked for any."""
    package = folder / "package"
    write_place(package, FIRST)
    write_hours(package, FIRST, after(42), DEGC)
    write_walks(
        package,
        "Myzus persicae",
        [
            (after(-7), 3, 8, None),
            (after(-1), 4, 12, None),
            (after(7), 5, 18, mummies),
            (after(14), 6, 26, mummies),
            (after(21), 7, 36, mummies),
            (after(35), 9, 60, mummies),
            (after(42), 11, 80, mummies),
        ],
    )
    write_release(package, "Aphidius colemani", [RELEASE], 500)
    write_packs(package, ["Aphidius colemani"], FIRST)
    line = CommandLine(folder / "spring.book")
    line.text("book", "init")
    line.text("book", "import", package)
    return line


@pytest.fixture(scope="module")
def none_found(tmp_path_factory):
    return a_book(tmp_path_factory.mktemp("zero"), 0)


@pytest.fixture(scope="module")
def not_looked_for(tmp_path_factory):
    return a_book(tmp_path_factory.mktemp("unlooked"), None)


def verdict(line, days):
    return line.answer("ahead", HOUSE, "--as-of", after(days))["verdict"]


@pytest.mark.parametrize("days", [14, 21])
def test_zero_mummies_before_they_can_show_do_not_lower_the_verdict(none_found, not_looked_for, days):
    with_zeros, without = verdict(none_found, days), verdict(not_looked_for, days)
    assert with_zeros["word"] == without["word"]
    assert with_zeros["ends_well"] == pytest.approx(without["ends_well"], abs=0.005)
    assert with_zeros["stays_below"] == pytest.approx(without["stays_below"], abs=0.005)


def test_zero_mummies_after_their_latest_day_do_lower_it(none_found, not_looked_for):
    looks = none_found.answer("ahead", HOUSE, "--as-of", after(21))["mummies_from"]
    assert date.fromisoformat(looks["latest"]) < after(42)
    assert verdict(none_found, 42)["ends_well"] < verdict(not_looked_for, 42)["ends_well"]


def test_the_first_day_worth_looking_is_named_and_fits_what_is_known_of_cold(none_found):
    looks = none_found.answer("ahead", HOUSE, "--as-of", after(14))["mummies_from"]
    earliest = date.fromisoformat(looks["earliest"])
    # Evidence `practice`: sting to first mummy takes 11 days at 16 °C and 20 at 10 °C, and the wasps hatch first.
    assert after(11) < earliest <= after(30)
    said = " ".join(none_found.text("ahead", HOUSE, "--as-of", after(14)).split())
    shown = f"{earliest:%a} {earliest.day} {earliest:%b}"
    assert f"first mummies from {shown}; none by" in said


def test_the_sheet_names_the_first_day_worth_looking(none_found):
    ahead = none_found.answer("ahead", HOUSE, "--as-of", after(14))
    earliest = date.fromisoformat(ahead["mummies_from"]["earliest"])
    shown = f"{earliest:%a} {earliest.day} {earliest:%b}"
    sheet = sheet_data(ahead)
    assert shown in str(sheet)
    assert "mummies" in str(sheet)
