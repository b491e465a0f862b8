"""What a docstring of this layer rests on is listed once, and nothing is listed in vain."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import outpace.biology

FOLDER = Path(outpace.biology.__path__[0])
KEY = re.compile(r"\b[A-Z][A-Za-z]+(?:19|20)\d\d\b")


def listed() -> list[dict[str, str]]:
    with (FOLDER / "references.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_cited_and_listed_references_are_the_same() -> None:
    cited = {key for path in FOLDER.glob("*.py") for key in KEY.findall(path.read_text(encoding="utf-8"))}
    keys = [row["key"] for row in listed()]
    assert len(keys) == len(set(keys))
    assert cited == set(keys)


def test_every_reference_says_whether_it_was_seen() -> None:
    for row in listed():
        assert row["seen"] == "recalled" or "read" in row["seen"], row["key"]
        assert row["key"].endswith(row["year"]), row["key"]
        assert all(row.values()), row["key"]
