"""Each answer has a schema; the schema takes the answer and nothing beside it."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

import outpace.surfaces.schemas

ANSWERS = Path(__file__).parents[1] / "answers"
SCHEMAS = Path(outpace.surfaces.schemas.__file__).parent
NAMES = sorted(path.stem for path in SCHEMAS.glob("*.json"))
EXAMPLES = sorted(path.stem for path in ANSWERS.glob("*.json"))

# Source: the exchange format, the list of fields of each answer that it fixes.
FIXED = {
    "ahead": "schema farm house as_of data_age_d verdict binding pests learned evidence_weakest cautions",
    "plan": "schema as_of horizon_d decisions cost chance_ever_above not_preventable infeasible frontier "
    "waiting ties rule_of_thumb",
    "nofinds": "schema looked_at found confidence design_density detection below_share more_plants_to_halve "
    "valid_until assumptions",
    "week": "schema as_of houses",
}


def validator(name):
    schema = json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())


def example(name):
    return json.loads((ANSWERS / f"{name}.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_valid_and_closed_at_the_top_and_names_itself(name):
    schema = validator(name).schema
    assert schema["additionalProperties"] is False
    assert schema["properties"]["schema"] == {"const": f"outpace.{name}/1"}
    assert "schema" in schema["required"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_answer_satisfies_its_schema(name):
    assert [error.message for error in validator(name).iter_errors(example(name))] == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_field_that_is_not_described_is_refused(name):
    assert not validator(name).is_valid({**example(name), "invented": 1})


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_answer_that_misses_a_required_field_is_refused(name):
    check = validator(name)
    for field in check.schema["required"]:
        answer = example(name)
        del answer[field]
        assert not check.is_valid(answer)


@pytest.mark.parametrize("name", sorted(FIXED))
def test_the_fields_that_the_exchange_format_fixes_are_all_required(name):
    assert set(FIXED[name].split()) == set(validator(name).schema["required"])


def test_a_chance_above_one_is_refused():
    answer = example("week")
    answer["houses"][0]["ends_well"] = 1.2
    assert not validator("week").is_valid(answer)
