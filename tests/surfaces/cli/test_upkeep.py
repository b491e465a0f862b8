"""Plants in, cards, harvests, decisions, permits by command, and the trace that joins them."""

from __future__ import annotations

import json


def test_a_season_told_by_command_is_traced_from_its_harvest_code(farm):
    assert farm("farm", "Kelp Lane", "--country", "gb").code == 0
    said = farm(
        "plants", "in", "sweet pepper", "--source", "a raiser", "--house", "Long tunnel", "--on", "2026-03-01"
    )
    assert said.code == 0
    assert "unknown is not none" in said.out
    assert farm("card", "Long tunnel", "7", "--hung", "2026-03-02").code == 0
    assert farm("card", "Long tunnel", "7", "--winged", "3", "--on", "2026-03-09", "--taken").code == 0
    decided = farm(
        "house", "decide", "Long tunnel", "wait a week", "--because", "one spot only", "--on", "2026-03-10"
    )
    assert decided.code == 0
    assert farm("spray", "add", "Long tunnel", "--kind", "soap", "--start", "2026-04-01").code == 0
    picked = farm(
        "house", "harvest", "Long tunnel", "KL-17", "--amount", "40", "--unit", "kg", "--on", "2026-04-02"
    )
    assert picked.code == 0
    assert "call your adviser or buyer" in " ".join(picked.out.split())
    answer = json.loads(farm("trace", "KL-17", "--json").out)
    kinds = [entry["kind"] for entry in answer["entries"]]
    assert kinds == ["plants in", "card", "card", "decision", "spray", "harvest"]
    assert "Ida" in answer["entries"][3]["what"]
    assert "cannot be shown" in answer["entries"][4]["minds"][0]


def test_a_card_remembers_when_it_was_hung_and_a_new_season_begins_anew(farm):
    assert farm("card", "Long tunnel", "7", "--hung", "2026-03-02").code == 0
    assert farm("card", "Long tunnel", "7", "--winged", "0", "--on", "2026-03-09").code == 0
    wrong = farm("card", "Long tunnel", "7", "--hung", "2026-03-20", "--winged", "0", "--on", "2026-03-10")
    assert wrong.code == 2
    assert "hung after it was looked at" in wrong.err


def test_a_permit_keeps_its_number_when_it_is_seen_again(farm):
    assert "country is not told" in farm("farm", "permit", "Aphidius colemani", "--number", "12").err
    assert farm("farm", "permit", "Aphidius colemani", "--number", "12", "--country", "GB").code == 0
    again = farm("farm", "permit", "a. colemani", "--country", "GB", "--on", "2026-03-20")
    assert again.code == 0
    assert "was not told" not in again.out


def test_a_decision_without_a_reason_is_asked_for_one(farm):
    assert "--because" in farm("house", "decide", "Long tunnel", "wait").out
    assert farm("house", "decide", "Long tunnel", "  ").code == 2


def test_bare_farm_and_house_still_show_and_take_names(farm):
    assert "Kelp Lane" in farm("farm").out
    assert "Long tunnel" in farm("house").out
    assert farm("house", "Long tunnel", "--level", "2", "--per", "leaf").code == 0
    assert "2 live aphids per leaf" in farm("house", "Long tunnel").out


def test_trace_of_nothing_known_says_what_is_known(farm):
    said = farm("trace", "nothing")
    assert said.code == 2
    assert "none is written down yet" in said.err


def test_a_jar_of_the_crops_mummies_is_told_in_two_commands_and_kept_with_its_walk(farm):
    told = farm("walk", "Long tunnel: 20 looked at, none", "--on", "2026-03-09")
    assert told.code == 0
    put = farm("walk", "jar", "Long tunnel", "--put-in", "40")
    assert (put.code, "40 closed mummies of the walk" in " ".join(put.out.split())) == (0, True)
    assert farm("walk", "Long tunnel: 20 looked at, none", "--on", "2026-03-16").code == 0
    # the last walk has no jar: what came out belongs to the one before
    out = farm("walk", "jar", "Long tunnel", "--wasps", "20", "--hyperparasitoids", "5", "--json")
    assert json.loads(out.out)["new"] == 2
    assert "jar of Mon 9 Mar" in json.loads(out.out)["sentence"]
    half = farm("walk", "jar", "Long tunnel", "--hyperparasitoids", "5", "--walked", "2026-03-09")
    assert (half.code, "`--wasps`: what came out is told of one kind only" in half.err) == (2, True)
    counted = ("--wasps", "50", "--hyperparasitoids", "0")
    many = farm("walk", "jar", "Long tunnel", *counted, "--walked", "2026-03-09")
    assert (many.code, "50 came out of 40 mummies" in many.err) == (2, True)
    nothing = farm("walk", "jar", "Long tunnel")
    assert (nothing.code, "neither what was put into the jar" in nothing.err) == (2, True)
    none = farm("walk", "jar", "Long tunnel", "--put-in", "30", "--walked", "2026-03-10")
    assert (none.code, "no walk of Long tunnel on" in none.err) == (2, True)
