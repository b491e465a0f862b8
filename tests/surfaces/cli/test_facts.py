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


TRIAL = "temperature (°C);days\n10;22,1\n15;11,2\n20;7,7\n25;6,0\n27,5;5,6\n30;6,4\n32,5;none\n"
FIT_SCHEMA = SCHEMA.with_name("facts_fit.json")


@pytest.fixture
def trial(tmp_path, monkeypatch):
    """A trial in the folder where one types."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "rates.csv").write_text(TRIAL, encoding="utf-8")
    (tmp_path / "eaten.csv").write_text(
        "offered,eaten\n2,1\n8,4\n8,5\n32,11\n32,9\n64,12\n", encoding="utf-8"
    )
    return tmp_path


@pytest.mark.parametrize("words", [("rates.csv",), ("eaten.csv", "--days", "1", "--not-replaced")])
def test_a_fit_satisfies_its_schema_and_its_text_keeps_to_80_columns(say, trial, words):
    answer = json.loads(say("facts", "fit", *words, "--json").out)
    jsonschema.validate(answer, json.loads(FIT_SCHEMA.read_text(encoding="utf-8")))
    said = say("facts", "fit", *words)
    assert [line for line in said.out.splitlines() if len(line) > 80] == []
    assert said.out.split(".")[0].split()[0] in ("Use", "One")


def test_what_a_fit_says_about_the_line_stands_before_the_curves(say, trial):
    text = say("facts", "fit", "rates.csv").out
    assert text.index("lower threshold") < text.index("correlation of the two") < text.index("Brière 1:")


def test_own_facts_of_a_fit_enter_the_book_and_stand_before_the_books(farm, trial, tmp_path):
    written = farm("facts", "fit", "rates.csv", "--species", "M. persicae", "--own-facts", "own_facts.csv")
    assert "written: own_facts.csv" in written.err
    assert farm("book", "import", "own_facts.csv").code == 0
    assert farm("walk", "Long tunnel: 20 looked at, 6 with green peach aphid, about 40").code == 0
    used = json.loads(farm("ahead", "Long tunnel", "--json").out)["facts"]
    mine = [fact for fact in used if fact["key"].startswith("myzus_persicae thermal_constant")]
    line = json.loads(farm("facts", "fit", "rates.csv", "--json").out)["line"]
    assert [(fact["evidence"], fact["value"]) for fact in mine] == [("own", line["thermal_constant"])]


def test_an_own_fact_in_another_unit_is_refused_with_the_unit_it_wants(farm, trial):
    (trial / "own_facts.csv").write_text(
        "species,quantity,value,sd,unit,seasons\nMyzus persicae,thermal_constant,232,9,degF d,1\n",
        encoding="utf-8",
    )
    assert farm("book", "import", "own_facts.csv").code == 0
    farm("walk", "Long tunnel: 20 looked at, 6 with green peach aphid, about 40")
    said = farm("ahead", "Long tunnel")
    assert said.code == 1
    assert "unit 'degF d', must be 'degC d'" in said.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("gone.csv",), "there is no such file"),
        (("rates.csv", "--column", "days"), "must be HEADING=FIELD"),
        (("rates.csv", "--own-facts", "own_facts.csv"), "no species told"),
        (("rates.csv", "--crop", "bananas"), "no crop called 'bananas'"),
        (("rates.csv", "--own-facts", "no/such/place.csv", "--species", "MYZUPE"), "cannot write it"),
    ],
)
def test_a_fit_that_cannot_be_made_says_what_to_do(say, trial, words, told):
    said = say("facts", "fit", *words)
    assert said.code in (1, 2)
    assert told in said.err
    assert "hint:" in said.err


def test_facts_alone_tells_all_and_show_is_what_is_meant(say):
    assert say("facts", "MYZUPE").out == say("facts", "show", "MYZUPE").out
    assert say("facts").out == say("facts", "show").out
