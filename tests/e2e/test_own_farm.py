"""A first farm from nothing: the lines of the README, as they are typed there."""

from __future__ import annotations

import math
import re
import shlex
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from tests.e2e.command_line import CommandLine, faults

README = Path(__file__).parents[2] / "README.md"
HOUSE = "Long tunnel"


def readme_lines():
    part = README.read_text(encoding="utf-8").split("## Your own farm")[1].split("\n## ")[0]
    return [line.strip() for line in part.splitlines() if re.match(r" {4}outpace ", line)]


def write_logger_file(path):
    now = datetime.now().replace(minute=0, second=0, microsecond=0)
    lines = ["Time,Temperature (°C),RH (%)"]
    for hour in range(12 * 24, 0, -1):
        at = now - timedelta(hours=hour)
        lines.append(f"{at:%Y-%m-%d %H:%M},{18 + 5 * math.cos((at.hour - 15) / 24 * 2 * math.pi):.1f},70")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


@pytest.fixture(scope="module")
def typed(tmp_path_factory):
    """Type the README's lines, one after the other."""
    folder = tmp_path_factory.mktemp("own")
    write_logger_file(folder / "logger.csv")
    line = CommandLine(folder / "own.book")
    said = []
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for typed_line in readme_lines():
            said.append((typed_line, line.run(*shlex.split(typed_line)[1:])))
    return line, said


def test_every_line_of_the_readme_works_as_typed(typed):
    _, said = typed
    assert len(said) >= 5
    assert {line: one.err for line, one in said if one.code != 0} == {}


def test_they_lead_to_a_first_verdict(typed):
    line, _ = typed
    week = line.answer("week")
    (row,) = week["houses"]
    assert row["house"] == HOUSE
    assert row["verdict"] in ("Holding", "Unclear", "Losing")
    assert row["tasks"]
    assert faults(week) == []


def test_the_forecast_says_what_it_rests_on(typed):
    line, _ = typed
    ahead = line.answer("ahead", HOUSE)
    assert faults(ahead) == []
    assert "logger" in ahead["temperature"]["source"]
    told = " ".join(ahead["cautions"])
    assert "is provisional, common practice, yours to change" in told
    assert "Mummies were seen but no release is on record" in told


def test_a_farm_without_a_price_list_is_told_how_to_bring_one(typed):
    line, _ = typed
    plan = line.answer("plan")
    (held,) = plan["infeasible"]
    assert "`outpace book import packs.csv`" in held["why"]
    assert faults(plan) == []


def test_without_logger_and_release_the_bands_are_wider(tmp_path, typed):
    with_logger, _ = typed
    line = CommandLine(tmp_path / "bare.book")
    for typed_line in readme_lines():
        words = shlex.split(typed_line)[1:]
        if words[0] != "climate":
            assert line.run(*words).code == 0
    bare, logged = (one.answer("ahead", HOUSE)["temperature"] for one in (line, with_logger))
    assert bare["high"] - bare["low"] > logged["high"] - logged["low"]
