"""`outpace facts`: every figure with its source, by any name; the order of a day."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

import outpace.surfaces.schemas
from outpace.facts.table import load

SCHEMA = Path(outpace.surfaces.schemas.__file__).parent / "facts.json"


@pytest.mark.parametrize("words", [(), ("--cite",), ("a. ervi", "--cite", "--step-order"), ("MYZUPE",)])
def test_the_answer_satisfies_its_schema_and_the_text_keeps_to_80_columns(say, words):
    answer = json.loads(say("facts", *words, "--json").out)
    jsonschema.validate(answer, json.loads(SCHEMA.read_text(encoding="utf-8")))
    assert [line for line in say("facts", *words).out.splitlines() if len(line) > 80] == []


def test_a_figure_stands_with_value_evidence_and_source_as_in_its_table(say):
    text = " ".join(say("facts", "Aphidius ervi").out.split())
    row = load().one("aphidius_ervi", "thermal_constant")
    assert f"thermal constant: {row.value:g} °C d ({row.low:g} to {row.high:g}" in text
    assert f"{row.evidence}, {row.source}" in text


def test_sources_are_told_when_asked_for(say):
    row = load().one("aphidius_ervi", "thermal_constant")
    assert load().sources[row.source].title[:30] in " ".join(say("facts", "ervi wasp", "--cite").out.split())
    assert "Sources" not in say("facts", "ervi wasp").out


def test_the_order_of_a_day_is_printed_alone(say):
    said = say("facts", "--step-order")
    assert said.out.startswith("The order of one day in the model")
    assert "at midnight, sting:" in said.out
    assert "thermal constant" not in said.out


def test_a_name_that_is_unknown_is_told_with_near_ones(say):
    said = say("facts", "aphidius erwi")
    assert said.code == 2
    assert "Aphidius ervi" in said.err
