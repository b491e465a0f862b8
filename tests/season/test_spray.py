"""A spray told in words: nothing is filled in, what is missing holds the house, and clashes are named."""

from __future__ import annotations

import dataclasses
import doctest
import json
from datetime import UTC, date, datetime, timedelta

import pytest
from tests.season.sprayed_house import FARM, FULL, HOUSE, NOW, known, parcel, spray

from outpace.errors import OutpaceError
from outpace.facts.table import load
from outpace.season import spray_efficacy, sprayed
from outpace.season.ahead import ahead
from outpace.season.spray import spray_from_words
from outpace.season.spray_standing import spray_answer
from outpace.season.sprayed import moment_words, release_hold, spray_deeds, sprays_of, standing
from outpace.terms.enemies import Lot, Release
from outpace.terms.scouting import Count, Walk, WalkLine
from outpace.terms.upkeep import Harvest

CLOCKS = ("reentry", "picking", "bees", "release")


def told(snapshot, words=None, **more):
    return spray_from_words(snapshot, "long tunnel", words or {}, now=NOW, **more)


def test_what_was_not_told_is_not_recorded():
    entered = told(known())
    (row,) = entered.rows
    filled = {field.name for field in dataclasses.fields(row) if getattr(row, field.name) is not None}
    assert filled == {"spray", "farm", "house", "start", "crop"}
    assert row.start == NOW


def test_an_undeclared_spray_is_answered_with_every_danger_and_no_figure():
    entered = told(known(*parcel()))
    said = " ".join((entered.sentence, *entered.cautions))
    for words in (
        "keep out, 4 of its 4 clocks cannot start",
        "No clock starts until it is told when it ended",
        "keep out, read the label",
        "do not pick, read the label",
        "no release here",
        "Bees are in this house: hive closed or out, until when?",
        "leaf feed, disinfectant and fogger are sprays too",
        "500 Aphidius colemani are to be released here on 2026-04-24: not while",
        "airing",
    ):
        assert words in said


def test_a_full_spray_asks_for_nothing_but_the_airing():
    words = {
        key: value for key, value in FULL.items() if key not in ("start", "end", "bees_out_until", "kind")
    }
    entered = told(
        known(),
        {**words, "kind": "fungicide"},
        start="2026-04-22T18:00",
        end="19:00",
        bees_out_until="2026-04-23T19:00",
    )
    (row,) = entered.rows
    assert (row.end, row.bees_out_until) == (FULL["end"], FULL["bees_out_until"])
    assert "keep out until Thu 23 Apr, 19:00, and all 4 of its clocks run" in entered.sentence
    assert len(entered.cautions) == 1
    assert "airing" in entered.cautions[0]


def test_a_time_alone_that_is_earlier_ended_in_the_night_after():
    (row,) = told(known(), start="2026-04-21T22:30", end="01:15").rows
    assert row.end == datetime(2026, 4, 22, 0, 15, tzinfo=UTC)


def test_a_day_without_a_time_is_taken_as_the_longer_wait_and_says_so():
    entered = told(known(), start="2026-04-21", end="2026-04-21", bees_out_until="2026-04-22")
    (row,) = entered.rows
    # London is an hour ahead in April: its day runs from 23:00 UTC to 23:00 UTC.
    assert row.start == datetime(2026, 4, 20, 23, 0, tzinfo=UTC)
    assert row.end == datetime(2026, 4, 21, 22, 59, tzinfo=UTC)
    assert row.bees_out_until == datetime(2026, 4, 22, 22, 59, tzinfo=UTC)
    assert sum("the longer wait" in caution for caution in entered.cautions) == 3


@pytest.mark.parametrize("kind", ["leaf feed", "disinfectant", "fogger"])
def test_what_growers_do_not_call_a_spray_is_kept_as_other_under_its_word(kind):
    (bare,) = told(known(), {"kind": kind}).rows
    assert (bare.kind, bare.product, bare.reason) == ("other", kind, None)
    (named,) = told(known(), {"kind": kind, "product": "invented", "reason": "pale leaves"}).rows
    assert (named.kind, named.product, named.reason) == ("other", "invented", f"{kind}: pale leaves")


def test_a_spray_told_again_keeps_what_was_told_before():
    (first,) = told(known(), {"reentry_h": 12.0, "product": "invented"}, start="2026-04-22T18:00").rows
    again = told(known(first), {"harvest_interval_d": 3.0}, spray=first.spray, end="19:00")
    (row,) = again.rows
    assert (row.spray, row.start, row.reentry_h, row.harvest_interval_d) == (
        first.spray,
        first.start,
        12.0,
        3.0,
    )
    assert row.end == datetime(2026, 4, 22, 18, tzinfo=UTC)
    (same,) = told(known(first), {"product": "invented"}, start="2026-04-22T18:00").rows
    assert same == first


def test_an_end_before_the_start_and_a_key_that_is_not_there_are_refused():
    with pytest.raises(OutpaceError, match="before it began"):
        told(known(), start="2026-04-22T18:00", end="2026-04-22T17:00")
    with pytest.raises(OutpaceError, match="no spray 's9'"):
        told(known(spray()), spray="s9")


def test_an_undeclared_spray_with_bees_pickers_and_a_parcel_holds_everything():
    answer = spray_answer(known(spray(), *parcel()), "Long tunnel")
    (house,) = answer["houses"]
    for clock in CLOCKS:
        assert (house[clock]["state"], house[clock]["until"]) == ("unknown", None)
        assert (answer["sprays"][0]["clocks"][clock]["until"]) is None
    assert answer["sentence"] == (
        "Keep out of Long tunnel and read the label on Thu 23 Apr: 1 spray not fully entered."
    )
    assert {clash["kind"] for clash in answer["clashes"]} == {"release", "walk"}
    assert "Release no 500 Aphidius colemani here" in str(answer["clashes"])
    assert any("hive closed or out, until when?" in caution for caution in answer["cautions"])
    assert json.loads(json.dumps(answer)) == answer


def test_the_clocks_of_a_full_spray_stand_in_the_time_of_the_farm():
    answer = spray_answer(known(spray(**FULL)), "Long tunnel")
    clocks = answer["sprays"][0]["clocks"]
    # Source: counted by hand from the end, 18:00 UTC, which is 19:00 in London in April.
    assert clocks["reentry"]["until"] == "2026-04-23T19:00:00+01:00"
    assert clocks["picking"]["until"] == "2026-04-25T19:00:00+01:00"
    assert clocks["release"]["until"] == "2026-04-29T19:00:00+01:00"
    assert clocks["bees"]["until"] == "2026-04-23T19:00:00+01:00"
    assert answer["sentence"] == "Keep out of Long tunnel until Thu 23 Apr, 19:00: 1 spray holds it."
    said = answer["sprays"][0]["sentence"]
    assert said == (
        "Invented wettable sulphur of Wed 22 Apr: kills 80 % of the wasps now; no release before Wed 29 Apr, 19:00; "
        "keep out until Thu 23 Apr, 19:00, and until it is aired as the label wants; do not pick until Sat 25 Apr, "
        "19:00; source: what this farm entered."
    )


def test_classes_are_sentences_that_name_their_scale_and_their_ends():
    direct, residue, lasting = spray_answer(known(spray(**FULL)))["sprays"][0]["side_effects"]
    # Source: IOBC classes (recalled): laboratory 80-99 % is 3, field >75 % is 4, 5-15 d is B; 30 % is 2 on both scales.
    assert "class 3 by the limits for the laboratory (over 79 to 99 %)" in direct
    assert "class 4 by those for the field (over 75 %)" in direct
    assert "class 2 by the limits for the laboratory (30 to 79 %) and class 2" in residue
    assert "class B of persistence (5 to 15 d; IOBC)" in lasting


def test_nothing_is_told_of_a_class_where_no_figure_was_entered():
    answer = spray_answer(known(spray()))
    assert answer["sprays"][0]["side_effects"] == []
    assert answer["facts"] == []


@pytest.mark.parametrize(("day", "held"), [(29, True), (30, False)])
def test_a_release_waits_for_the_residue_and_no_longer(day, held):
    answer = spray_answer(known(spray(**FULL), *parcel(date(2026, 4, day))))
    assert ("release" in {clash["kind"] for clash in answer["clashes"]}) == held


def test_a_release_before_a_planned_spray_is_named():
    planned = {**FULL, "start": FULL["start"] + timedelta(days=4), "end": None, "bees_out_until": None}
    answer = spray_answer(known(spray(**planned), *parcel()))
    assert answer["sprays"][0]["planned"]
    assert answer["houses"][0]["reentry"]["state"] == "not begun"
    (clash,) = [clash for clash in answer["clashes"] if clash["kind"] == "release"]
    assert "would meet them" in clash["why"]


def test_what_was_released_or_picked_inside_a_wait_is_told_with_what_to_do():
    lot = Lot(
        lot="L1", enemy="aphidius_ervi", form="adults", label_counts="units_in_pack", labelled_number=100
    )
    later = FULL["end"] + timedelta(hours=10)
    let_go = Release(release="r1", farm="Kelp Lane", house="Long tunnel", time=later, lot="L1", number=100)
    picked = Harvest(harvest="h1", farm="Kelp Lane", house="Long tunnel", time=later, lot_code="H-7")
    answer = spray_answer(known(spray(**FULL), lot, let_go, picked))
    whats = {clash["kind"]: clash["what"] for clash in answer["clashes"]}
    assert whats["released"] == "100 Aphidius ervi were released: count on fewer"
    assert whats["picked"] == "Lot H-7 was picked: call the adviser or buyer before selling"


def test_sprays_of_other_houses_and_farms_hold_nothing_here():
    elsewhere = dataclasses.replace(spray(), house="Other"), dataclasses.replace(spray("s2"), farm="Other")
    answer = spray_answer(known(*elsewhere, *parcel()))
    assert answer["sprays"] == []
    assert answer["clashes"] == []
    assert answer["sentence"] == "Do nothing on Thu 23 Apr: 0 of 0 sprays hold a house back."


def test_an_unknown_spray_holds_as_long_as_it_is_unknown():
    answer = spray_answer(known(spray(), *parcel(date(2027, 4, 24)), now=NOW + timedelta(days=365)))
    assert answer["houses"][0]["release"]["state"] == "unknown"
    assert "release" in {clash["kind"] for clash in answer["clashes"]}


def test_a_spray_before_planting_counts_until_the_longest_residue_has_passed():
    longest = load().one("", "residue_longest").value
    start = FULL["start"]
    for days, counted in ((longest - 1, 1), (longest + 1, 0)):
        now = start + timedelta(days=days)
        house = dataclasses.replace(HOUSE, planted=start.date() + timedelta(days=2))
        assert len(sprays_of(known(house=house, now=now), load(), FARM, house)) == 0
        assert len(sprays_of(known(spray(), house=house, now=now), load(), FARM, house)) == counted


def walked(day, zones, *, key, chosen="random"):
    """Return a walk with ten leaves a zone, each with the same count."""
    walk = Walk(
        walk=key,
        farm="Kelp Lane",
        house="Long tunnel",
        time=FULL["start"] + timedelta(days=day),
        unit="leaf",
        chosen=chosen,
    )
    rows = [
        Count(walk=key, unit_no=10 * place + leaf + 1, pest="myzus_persicae", zone=zone, aphids=str(count))
        for place, (zone, count) in enumerate(zones.items())
        for leaf in range(10)
    ]
    return [walk, *rows]


def test_efficacy_comes_from_walks_before_and_after_beside_an_unsprayed_part():
    rows = [*walked(-1, {"east": 20, "west": 18}, key="w1"), *walked(3, {"east": 2, "west": 24}, key="w2")]
    now = NOW + timedelta(days=5)
    answer = spray_answer(known(spray(**FULL, zone="east"), *rows, now=now))
    (found,) = answer["sprays"][0]["efficacy"]
    # Source: Henderson and Tilton 1955 (formula recalled): 200 to 20 beside 180 to 240 gives 92.5 % (derived).
    assert found["efficacy"]["value"] == pytest.approx(0.925)
    assert found["efficacy"]["low"] < 0.925 < found["efficacy"]["high"]
    assert "an efficacy of 92 %" in found["words"]
    # Source: Sun-Shepard gives the same as Henderson-Tilton (derived); Abbott takes the later counts alone,
    # 1 - 20/240 of the same example. Where the unsprayed part grew, no share of it is known to have died.
    beside = {each["method"]: each["value"] for each in found["efficacy"]["beside"]}
    assert beside == {"Sun-Shepard": pytest.approx(0.925), "Abbott": pytest.approx(1 - 20 / 240)}
    assert "Abbott 92 %, as if both parts had begun alike" in found["words"]
    assert {"taylor_a", "taylor_b"} <= {fact["key"].split()[1] for fact in answer["facts"]}


def test_schneider_orelli_stands_beside_where_the_unsprayed_part_fell_too():
    # Source: Schneider-Orelli 1947 (formula recalled): 80 % gone beside 20 % gone gives 75 %, as Abbott of deaths.
    told = spray_efficacy._beside(treated_before=10, treated_after=2, control_before=10, control_after=8)
    assert {each["method"]: each["value"] for each in told} == {
        method: pytest.approx(0.75) for method in ("Sun-Shepard", "Abbott", "Schneider-Orelli")
    }


def test_without_an_unsprayed_part_the_change_is_told_and_no_efficacy():
    rows = [*walked(-1, {"east": 20, "west": 18}, key="w1"), *walked(3, {"east": 2, "west": 2}, key="w2")]
    (found,) = spray_answer(known(spray(**FULL), *rows, now=NOW + timedelta(days=5)))["sprays"][0]["efficacy"]
    assert found["efficacy"] is None
    assert "from 19 to 2 live aphids per leaf" in found["words"]
    assert "how much of it the spray did is not known" in found["words"]


def test_a_spray_that_did_worse_than_none_is_told_in_words_not_as_an_efficacy():
    rows = [*walked(-1, {"east": 10, "west": 10}, key="w1"), *walked(3, {"east": 30, "west": 5}, key="w2")]
    told = spray_answer(known(spray(**FULL, zone="east"), *rows, now=NOW + timedelta(days=5)))
    (found,) = told["sprays"][0]["efficacy"]
    # Source: Henderson-Tilton of 10 to 30 beside 10 to 5: 1 - 3/0.5 = -5 (derived).
    assert found["efficacy"]["value"] == pytest.approx(-5)
    assert "no efficacy shows against the unsprayed part: there they fell more or grew less" in found["words"]
    assert "an efficacy of" not in found["words"]


def lacks(*rows, **more):
    return spray_answer(known(spray(**{**FULL, "zone": "east", **more}), *rows, now=NOW + timedelta(days=5)))[
        "sprays"
    ][0]["efficacy_lacks"]


def test_which_walk_is_missing_for_a_figure_is_said_in_one_sentence():
    both = {"east": 20, "west": 18}
    before, after = walked(-1, both, key="w1"), walked(3, both, key="w2")
    assert "the walks before and after" in lacks()
    assert "the walk after the spray is missing" in lacks(*before)
    only_after = lacks(*after)
    assert "the walk before the spray is missing" in only_after
    assert "Abbott, Schneider-Orelli" in only_after
    assert "one that was left unsprayed" in lacks(*before, *walked(3, {"east": 20}, key="w2"))
    assert lacks(*before, *after) is None
    # Nothing is left to compare with where the whole house was sprayed.
    assert lacks(*after, zone=None) is None


def test_hunted_walks_and_walks_behind_another_spray_tell_no_efficacy():
    before = walked(-1, {"east": 20}, key="w1")
    hunted = [*before, *walked(3, {"east": 2}, key="w2", chosen="hunted")]
    late = NOW + timedelta(days=9)
    assert spray_answer(known(spray(**FULL), *hunted, now=late))["sprays"][0]["efficacy"] == []
    again = spray("s2", start=FULL["start"] + timedelta(days=1))
    twice = known(spray(**FULL), again, *before, *walked(3, {"east": 2}, key="w2"), now=late)
    assert [item["efficacy"] for item in spray_answer(twice)["sprays"]] == [[], []]


def test_a_line_that_does_not_tell_how_many_tells_no_efficacy():
    rows = []
    for key, day, many in (("w1", -1, 60), ("w2", 3, None)):
        walk = Walk(
            walk=key,
            farm="Kelp Lane",
            house="Long tunnel",
            time=FULL["start"] + timedelta(days=day),
            unit="plant",
            chosen="random",
        )
        line = WalkLine(walk=key, pest="myzus_persicae", looked_at=20, infested=4, aphids_about=many)
        rows += [walk, line]
    answer = spray_answer(known(spray(**FULL), *rows, now=NOW + timedelta(days=5)))
    assert answer["sprays"][0]["efficacy"] == []


def test_deeds_ask_for_what_is_missing_and_name_what_is_known():
    found = sprays_of(known(spray()), load(), FARM, HOUSE)
    first, second = spray_deeds(found, NOW + timedelta(days=300))
    assert (first.kind, second.kind) == ("keep out", "spray")
    assert first.what.startswith(
        "Keep out and do not pick after the spray: read the label of spray of Wed 22 Apr and"
    )
    assert "hive" in second.what
    (deed,) = spray_deeds(sprays_of(known(spray(**FULL)), load(), FARM, HOUSE), NOW)
    assert deed.what == (
        "Keep out after the spray until Thu 23 Apr, 19:00 and until it is aired as the label wants; do not pick until "
        "Sat 25 Apr, 19:00"
    )
    assert spray_deeds(sprays_of(known(spray(**FULL)), load(), FARM, HOUSE), NOW + timedelta(days=30)) == []


def test_a_hundred_sprays_without_figures_are_one_deed_and_one_for_the_hive():
    many = [spray(f"s{number:03d}", start=FULL["start"] - timedelta(days=number)) for number in range(100)]
    deeds = spray_deeds(sprays_of(known(*many), load(), FARM, HOUSE), NOW)
    assert [deed.kind for deed in deeds] == ["keep out", "spray"]
    assert "and 97 more and write down" in deeds[0].what


@pytest.mark.parametrize(("bees_in", "asked"), [(True, True), (None, False), (False, False)])
def test_weeks_after_the_waits_only_a_house_with_bees_is_still_asked_for_its_hive(bees_in, asked):
    house = dataclasses.replace(HOUSE, bees_in=bees_in)
    late = NOW + timedelta(days=40)
    found = sprays_of(
        known(spray(**{**FULL, "bees_out_until": None}), house=house, now=late), load(), FARM, house
    )
    assert bool(spray_deeds(found, late)) == asked


def test_a_zone_that_was_not_sprayed_is_free_and_one_not_told_is_not():
    found = sprays_of(known(spray(zone="east")), load(), FARM, HOUSE)
    assert release_hold(found, NOW.date(), "west") is None
    assert "unknown counts as danger" in release_hold(found, NOW.date(), "east")
    assert release_hold(found, NOW.date()) is not None


def test_a_wait_is_never_said_shorter_than_it_is():
    moment = datetime(2026, 4, 23, 8, 0, 1, tzinfo=UTC)
    assert moment_words(moment, sprays_of(known(spray()), load(), FARM, HOUSE)[0].zone) == "Thu 23 Apr, 09:01"


def test_several_sprays_stand_as_the_worst_of_them():
    full, bare = spray(**FULL), spray("s2", start=FULL["start"] - timedelta(days=9))
    found = sprays_of(known(full, bare), load(), FARM, HOUSE)
    assert standing([item.clocks.release for item in found], NOW)["state"] == "unknown"
    assert standing([found[0].clocks.release], NOW)["state"] == "running"
    assert standing([], NOW)["state"] == "none"


@pytest.mark.parametrize(
    ("rows", "kind"), [((), "release"), ((spray(),), "no release"), ((spray(**FULL),), "no release")]
)
def test_the_tasks_of_the_week_withdraw_a_release_onto_a_sprayed_crop(rows, kind):
    answer = ahead(known(*rows, *parcel()), "Long tunnel")
    kinds = [item["kind"] for item in answer["tasks"]]
    assert kind in kinds
    assert ("release" in kinds) == (kind == "release")
    assert ("keep out" in kinds) == bool(rows)


def test_the_examples_of_the_docstrings_are_true():
    told = doctest.testmod(sprayed)
    assert told.attempted > 2
    assert told.failed == 0
