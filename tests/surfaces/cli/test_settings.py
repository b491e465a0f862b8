"""Commands speak in the language and units that were chosen for this computer; programs are told SI."""

from __future__ import annotations

import json

import pytest


@pytest.fixture(autouse=True)
def own_settings(tmp_path, monkeypatch):
    path = tmp_path / "settings.json"
    monkeypatch.setenv("OUTPACE_SETTINGS", str(path))
    return path


def test_nothing_is_chosen_at_first(say):
    told = json.loads(say("settings", "--json").out)
    assert {value for key, value in told.items() if key not in ("schema", "file")} == {None}


def test_a_choice_is_kept_and_taken_back(say, own_settings):
    said = say("settings", "--temperature", "degf", "--area", "acre", "--weeks", "us")
    assert said.code == 0
    assert "acre" in said.out
    say("settings", "--area", "none")
    assert json.loads(own_settings.read_text()) == {"temperature": "degf", "weeks": "us"}


@pytest.mark.parametrize(
    ("option", "value"), [("--temperature", "kelvin"), ("--area", "furlong"), ("--language", "xx")]
)
def test_what_is_no_choice_is_refused_and_changes_nothing(say, own_settings, option, value):
    assert say("settings", option, value).code == 2
    assert not own_settings.exists()


def test_a_broken_file_counts_as_nothing_chosen(farm, own_settings):
    own_settings.write_text("{not json")
    assert "240 m²" in farm("house").out
    own_settings.write_text('["acre"]')
    assert "240 m²" in farm("house").out


def test_a_house_is_shown_in_the_chosen_units(farm):
    farm("house", "Long tunnel", "--heating", "15")
    farm("settings", "--area", "ft2", "--temperature", "degf")
    said = farm("house").out
    # Source: 240 m² / 0.09290304 m² = 2583 ft²; 15 °C are 59 °F.
    assert "2,583 ft²" in said
    assert "59 °F" in said


def test_a_farm_is_told_in_its_own_units_where_nobody_chose(farm):
    farm("farm", "Kelp Lane", "--area-unit", "decare")
    assert "0.24 decare" in farm("house").out


def test_a_program_is_told_si_and_heard_in_the_same_units_as_a_person(farm):
    farm("settings", "--area", "ft2", "--temperature", "degf", "--decimal", ",")
    farm("house", "Long tunnel", "--area", "1000", "--heating", "59", "--json")
    (house,) = json.loads(farm("house", "--json").out)["houses"]
    assert house["area_m2"] == pytest.approx(92.90304)
    assert house["heating_setpoint_degc"] == 15.0


def test_the_settings_speak_spanish_once_that_is_chosen(say, monkeypatch):
    monkeypatch.delenv("OUTPACE_LANGUAGE", raising=False)
    assert "Idioma" in say("settings", "--language", "es").out or "Idioma" in say("settings").out
