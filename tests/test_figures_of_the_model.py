"""The table of the strongest published figures in docs/model.md names tests that hold them, or says why none does."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TEXT = (ROOT / "docs" / "model.md").read_text()
TABLE = TEXT.split("**The strongest published figures**")[1].split("**Published cases**")[0]
NOT_MET = TEXT.split("## Not reproduced, and why")[1]
WHOLLY_MET = ("yes", "yes, with its own constant", "exactly")
ROWS_ASKED = 23  # of the list of oracles that the model is held against


def rows():
    """Figure, met and files of each row; "the same" stands for the files of the row above."""
    found, files = [], []
    for line in TABLE.splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split(" | ")]
        if len(cells) != 3 or cells[0] == "figure" or set(cells[0]) <= {"-", "|"}:
            continue
        figure, met, where = cells
        named = re.findall(r"`(tests/[^`]+)`", where)
        if "the same" in where:
            named = [files[0], *named]
        files = named
        found.append((figure, met, named))
    return found


def numbers(text):
    """Decimal and whole numbers as they stand, without a leading nil."""
    return {number.lstrip("0") for number in re.findall(r"\d*\.?\d+", text)} - {""}


@pytest.mark.parametrize(("figure", "met", "files"), rows(), ids=lambda value: str(value)[:40])
def test_a_figure_stands_in_the_tests_it_names(figure, met, files):
    assert files
    tests = "".join((ROOT / name).read_text() for name in files)
    of_figure = numbers(figure.split(",", 1)[-1])
    assert not of_figure or of_figure & numbers(tests)


@pytest.mark.parametrize(("figure", "met", "files"), rows(), ids=lambda value: str(value)[:40])
def test_a_figure_that_is_not_wholly_met_says_why(figure, met, files):
    if met in WHOLLY_MET:
        return
    kind = re.search(r"\*[A-Z]\. (\w+)\*", figure)
    name = kind[1] if kind else {"midge": "midge"}.get(figure.split(",")[0], "colemani")
    assert name in NOT_MET


def test_no_row_of_the_list_is_left_out():
    assert len(rows()) == ROWS_ASKED
