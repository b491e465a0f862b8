"""Money by command, and its schema."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

import outpace.surfaces.schemas

SCHEMAS = Path(outpace.surfaces.schemas.__file__).parent


def valid(said, name):
    assert said.code == 0, said.err
    jsonschema.validate(json.loads(said.out), json.loads((SCHEMAS / f"{name}.json").read_text("utf-8")))
    return json.loads(said.out)


def test_a_farm_without_orders_has_spent_nothing_and_says_from_when(farm):
    assert valid(farm("farm", "money", "--from", "2026-01-01", "--json"), "money")["goods"] == 0
    text = farm("farm", "money", "--from", "2026-01-01", "--sources").out
    assert max(len(line) for line in text.splitlines()) <= 80


def test_the_level_shows_its_formula(say):
    words = ("farm", "level", "--cost", "20", "--value", "500", "--loss", "0.1", "--aphids", "800")
    assert valid(say(*words, "--json"), "level")["injury_level"] == 320
    assert "EIL = C / (V" in say(*words).out
