"""The answer of `outpace facts`, and the page made from it."""

from __future__ import annotations

from pathlib import Path

import pytest

from outpace.errors import OutpaceError
from outpace.facts.table import load
from outpace.season.facts import facts_answer, facts_markdown

PAGE = Path(__file__).parents[2] / "docs" / "facts.md"


def test_without_a_name_every_species_and_every_row_is_told():
    answer = facts_answer()
    assert [item["key"] for item in answer["species"]] == list(load().species)
    assert len(answer["rows"]) == len(load().rows())


def test_a_species_brings_its_own_rows_those_of_its_group_and_those_of_others_about_it():
    answer = facts_answer("MYZUPE", cite=True)
    species = {row["species"] for row in answer["rows"]}
    assert answer["species"]["latin"] == "Myzus persicae"
    assert {"myzus_persicae", "any_aphid", "aphidius_colemani"} <= species
    assert {"aphis_gossypii", "any_wasp"}.isdisjoint(species)


def test_cited_sources_are_those_of_the_rows():
    answer = facts_answer("asaphes", cite=True)
    assert {source["key"] for source in answer["sources"]} == {row["source"] for row in answer["rows"]} - {""}
    assert facts_answer("asaphes")["sources"] == []


def test_a_name_nobody_knows_is_refused():
    with pytest.raises(OutpaceError, match="no species called"):
        facts_answer("grasshopper")


def test_the_order_of_a_day_is_told_when_asked():
    assert facts_answer()["step_order"] == []
    told = facts_answer(step_order=True)["step_order"]
    assert told[0]["when"] == "at midnight"
    assert len(told) > 5


def test_the_page_holds_every_number_and_every_source():
    page = facts_markdown()
    assert page.count("\n") > len(load().rows())
    assert all(f"| {key} |" in page for key in load().sources)


def test_the_page_in_the_docs_is_fresh():
    assert PAGE.read_text(encoding="utf-8") == facts_markdown(), (
        "run `python -m outpace.season.facts docs/facts.md`"
    )
