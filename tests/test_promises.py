"""The table of promises in docs/model.md names tests and benchmarks that are there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TEXT = (ROOT / "docs" / "model.md").read_text()
TABLE = TEXT.split("**What is promised, and the test that holds it.**")[1].split("**The strongest")[0]


def rows():
    """Promise, tests as (file, function), and measures, of each row; a function alone is of the file before it."""
    found = []
    for line in TABLE.splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split(" | ")]
        if len(cells) != 2 or cells[0] == "promised" or set(cells[0]) <= {"-", "|"}:
            continue
        tests, measures, file = [], [], ""
        for name in re.findall(r"`([^`]+)`", cells[1]):
            if "::" in name:
                file = name.split("::")[0] or file
                tests.append((file, name.split("::")[1]))
            else:
                measures.append(name)
        found.append((cells[0], tests, measures))
    return found


@pytest.mark.parametrize(("promise", "tests", "measures"), rows(), ids=lambda value: str(value)[:40])
def test_a_promise_names_tests_and_measures_that_are_there(promise, tests, measures):
    assert tests or measures
    for file, function in tests:
        assert f"def {function}(" in (ROOT / "tests" / file).read_text()
    for path in measures:
        assert (ROOT / path).exists()


def test_the_table_is_read_whole():
    assert len(rows()) == TABLE.count("\n|") - 2
