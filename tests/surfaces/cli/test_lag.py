"""`outpace lag`: typed temperature, one sentence, evidence; bad words told well."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

import outpace.surfaces.schemas

SCHEMA = Path(outpace.surfaces.schemas.__file__).parent / "lag.json"
WORDS = ("lag", "--enemy", "Aphidius colemani", "--pest", "green peach aphid", "--release", "2026-04-20")


def test_text_begins_with_its_sentence_and_keeps_to_80_columns(say):
    said = say(*WORDS, "--temperature", "18", "--sources")
    assert said.code == 0
    assert said.out.startswith("Look for mummies on ")
    assert [line for line in said.out.splitlines() if len(line) > 80] == []
    assert "practice" in said.out


@pytest.mark.parametrize(
    ("enemy", "pest"),
    [
        ("Aphidius colemani", "MYZUPE"),
        ("Aphidius colemani", "potato aphid"),
        ("Aphidoletes aphidimyza", "melon aphid"),
        ("Aphelinus abdominalis", "foxglove aphid"),
        ("Aphidius ervi", "another or unknown aphid"),
    ],
)
@pytest.mark.parametrize("degrees", ["8", "18", "64.4F"])
def test_the_answer_satisfies_its_schema_and_renders(say, enemy, pest, degrees):
    words = ("lag", "--enemy", enemy, "--pest", pest, "--release", "2026-04-20", "--temperature", degrees)
    answer = json.loads(say(*words, "--json").out)
    jsonschema.validate(answer, json.loads(SCHEMA.read_text(encoding="utf-8")))
    text = say(*words).out
    assert [line for line in text.splitlines() if len(line) > 80] == []


def test_fahrenheit_and_celsius_give_one_answer(say):
    assert (
        say(*WORDS, "--temperature", "18", "--json").out
        == say(*WORDS, "--temperature", "64.4 F", "--json").out
    )


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "no temperature given"),
        (("--temperature", "18", "--house", "x"), "--temperature and --house given"),
        (("--temperature", "hot"), "`--temperature`"),
        (("--temperature", "400"), "400"),
        (("--temperature", "18", "--release", "20.4.2026"), "year-month-day"),
        (("--climate", "/nowhere/logger.csv"), "logger.csv"),
    ],
)
def test_a_question_that_cannot_be_answered_is_refused_with_its_reason(say, words, told):
    said = say(*WORDS, *words)
    assert said.code in (1, 2)
    assert told in said.err
    assert said.out == ""
