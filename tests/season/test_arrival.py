"""Parcels: what is expected, what a lot is worth, and what may not yet be said of it."""

from __future__ import annotations

import dataclasses
import json
import math
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from outpace.errors import OutpaceError
from outpace.season.arrival import arrival
from outpace.season.choices import choices
from outpace.season.standing import lot_answer
from outpace.terms.enemies import Allocation, Check, Lot, OrderLine, Pack, Release
from outpace.terms.place import Climate, Farm, House
from outpace.terms.tables import Snapshot

NOW = datetime(2026, 4, 20, 12, tzinfo=UTC)
FARM = Farm(farm="example cove", latitude=54, longitude=-3, time_zone="Europe/Paris", currency="EUR")
SOUTH = House(farm="example cove", house="south", crop="sweet_pepper", area_m2=400, plants=900)
PARCEL = Lot(
    lot="B7",
    order="o1",
    line=1,
    enemy="aphidius_colemani",
    form="mummies",
    label_counts="units_in_pack",
    labelled_number=500,
    packed=date(2026, 4, 15),
    arrived=datetime(2026, 4, 17, 9, tzinfo=UTC),
    parcel_degc=13.0,
    condition="dry",
)


def order(line=1, delivery=date(2026, 4, 17), status="placed"):
    return OrderLine(
        order="o1",
        line=line,
        farm="example cove",
        placed=NOW - timedelta(days=9),
        supplier="Invented Supply Two",
        enemy="aphidius_colemani",
        form="mummies",
        packs=2,
        pack_size=250,
        delivery_date=delivery,
        status=status,
        invoice="4711",
    )


def share(line=1, number=500, day=date(2026, 4, 17)):
    return Allocation(
        order="o1", line=line, farm="example cove", house="south", release_date=day, number=number
    )


def warmth(degc, days=30):
    return tuple(
        Climate(
            farm="example cove",
            house="south",
            place="canopy",
            source="logger",
            time=NOW - timedelta(hours=hour),
            temperature_degc=degc,
        )
        for hour in range(days * 24)
    )


def look(positive, looked_at=100, days=7.0, kind="emergence", lot="B7", degc=22.0):
    return Check(lot=lot, time=NOW, kind=kind, looked_at=looked_at, positive=positive, days=days, degc=degc)


def release(number, lot="B7", day=18):
    return Release(
        release=f"r{number}{lot}{day}",
        farm="example cove",
        house="south",
        time=datetime(2026, 4, day, 18, tzinfo=UTC),
        lot=lot,
        number=number,
    )


def known(now=NOW, **rows):
    rows = {"farm": (FARM,), "houses": (SOUTH,), "orders": (order(),), "allocations": (share(),), **rows}
    return Snapshot(as_of=now, head="", rows={name: tuple(each) for name, each in rows.items()})


def only(snapshot, **asked):
    (lot,) = arrival(snapshot, "B7", **asked)["lots"]
    return lot


def test_a_placed_order_is_expected_until_its_lot_has_come():
    (row,) = arrival(known())["expected"]
    assert (row["number"], row["delivery_date"], row["late_d"]) == (500, "2026-04-17", 3)
    assert row["houses"] == [{"house": "south", "number": 500, "release_date": "2026-04-17"}]
    assert "outpace plan" in row["words"]
    assert arrival(known(lots=[PARCEL]))["expected"] == []
    assert arrival(known(orders=[order(status="cancelled")]))["expected"] == []


def test_a_late_parcel_is_asked_for_in_the_first_sentence():
    assert arrival(known())["sentence"] == (
        "Ask Invented Supply Two on Mon 20 Apr: 1 parcel is late, 500 animals."
    )


def test_nothing_expected_and_nothing_to_count_is_a_full_answer():
    answer = arrival(known(orders=[], allocations=[]))
    assert answer["sentence"] == "Do nothing on Mon 20 Apr: 0 parcels are expected and 0 pots are due."


def test_the_check_is_due_after_the_days_of_the_guideline_in_a_warm_house_and_later_in_a_cool_one():
    warm = only(known(lots=[PARCEL], climate=warmth(23.0)))["check"]
    cool = only(known(lots=[PARCEL], climate=warmth(14.0)))["check"]
    assert warm["house"] == "south"
    # Source: 7 days (van Lenteren et al. 2003, read) from 17 April.
    assert warm["due"]["likely"] == "2026-04-24"
    assert cool["due"]["likely"] > "2026-04-25"
    assert cool["due"]["likely"] <= cool["due"]["latest"]


def test_day_three_of_seven_is_neither_pass_nor_reject_and_moves_nothing():
    before = only(known(lots=[PARCEL], climate=warmth(23.0)))
    after = only(known(lots=[PARCEL], climate=warmth(23.0), checks=[look(22, days=3.0)]))
    assert after["check"]["status"] == "running"
    assert after["check"]["words"].startswith("Day 3 of 7: neither pass nor reject")
    assert after["checks"][0]["early"] is True
    assert after["worth"]["females"] == before["worth"]["females"]
    assert after["worth"]["chances"] is None
    assert after["claim"]["step"] == 1


def test_a_check_without_a_temperature_takes_that_of_the_house():
    cool = only(known(lots=[PARCEL], climate=warmth(14.0), checks=[look(22, degc=None)]))
    warm = only(known(lots=[PARCEL], climate=warmth(23.0), checks=[look(22, degc=None)]))
    assert cool["checks"][0]["early"] is True
    assert warm["checks"][0]["early"] is False


def test_the_first_step_of_a_claim_tells_no_figure_of_emergence():
    claim = only(known(lots=[PARCEL]))["claim"]
    assert claim["step"] == 1
    assert "under observation" in claim["text"]
    for part in ("B7", "invoice 4711", "packed 2026-04-15", "13 °C in the parcel", "dry"):
        assert part in claim["text"]
    assert "%" not in claim["text"]


def test_the_second_step_says_the_exact_range_and_how_often_a_good_lot_looks_so():
    claim = only(known(lots=[PARCEL], checks=[look(22)]))["claim"]
    assert claim["step"] == 2
    # Source: Clopper-Pearson ends of 22 of 100: 14.3 to 31.4 % (computed from the beta quantiles).
    assert "22 of 100 emerged: 22 %, exact 95 % range 14 % to 31 %" in claim["text"]
    assert "45 % of 500" in claim["text"]
    assert "a claim stands" in claim["words"]


@pytest.mark.parametrize(
    ("positive", "words"),
    [(22, "a claim stands"), (45, "decides nothing"), (80, "nothing to claim")],
)
def test_the_verdict_on_a_claim_follows_the_range_and_not_the_figure(positive, words):
    assert words in only(known(lots=[PARCEL], checks=[look(positive)]))["claim"]["words"]


def test_chances_are_those_of_the_binomial_law():
    chances = only(known(lots=[PARCEL], checks=[look(40)]))["worth"]["chances"]
    # Source: the binomial sum itself, in exact whole numbers: at least 40 of 100 where 45 of 100 would emerge.
    exact = sum(math.comb(100, k) * 45**k * 55 ** (100 - k) for k in range(40, 101)) / 100**100
    assert chances["just_at_guideline_looks_this_good"] == pytest.approx(exact, rel=1e-9)
    assert chances["good_looks_this_bad"] < 1e-6
    assert 0.5 < chances["below_guideline"] < 1


@settings(max_examples=15, deadline=None)
@given(some.integers(0, 100))
def test_females_to_come_lie_between_none_and_all(positive):
    worth = only(known(lots=[PARCEL], checks=[look(positive)]))["worth"]
    assert worth["low"] <= positive / 100 <= worth["high"]
    assert 0 <= worth["females"]["q05"] <= worth["females"]["q50"] <= worth["females"]["q95"] <= 500


def test_females_of_a_label_that_counts_adults_are_those_of_the_units_behind_them():
    units = only(known(lots=[PARCEL]))["worth"]["females"]["q50"]
    adults = dataclasses.replace(PARCEL, label_counts="adults_expected")
    assert only(known(lots=[adults]))["worth"]["females"]["q50"] > 1.2 * units


def test_a_leftover_is_balanced_and_more_than_came_is_told():
    some_left = only(known(lots=[PARCEL], releases=[release(300)]))
    assert (some_left["balance"]["released"], some_left["balance"]["left"]) == (300, 200)
    too_many = only(known(lots=[PARCEL], releases=[release(300), release(250)]))
    assert too_many["balance"]["left"] == -50
    assert "50 more were let go than came" in " ".join(too_many["warnings"])


def test_of_a_lot_of_which_more_was_let_go_than_came_none_is_left_to_choose():
    for let_go, left in ((300, 200), (550, 0)):
        (lot,) = choices(known(lots=[PARCEL], releases=[release(let_go)]))["lots"]
        assert lot["left"] == left


def test_the_card_of_a_lot_tells_its_arrival_by_the_clock_of_the_farm():
    late = dataclasses.replace(PARCEL, arrived=datetime(2026, 4, 17, 22, 30, tzinfo=UTC))
    # Source: Paris is two hours ahead of UTC in April (tz database): half past midnight of the next day.
    assert lot_answer(known(lots=[late]), "B7")["lot"]["arrived"] == "2026-04-18T00:30+02:00"


@settings(max_examples=20, deadline=None)
@given(some.lists(some.integers(0, 200), max_size=4))
def test_released_and_left_always_make_the_number_on_the_label(numbers):
    rows = [dataclasses.replace(release(number), release=f"r{index}") for index, number in enumerate(numbers)]
    balance = only(known(lots=[PARCEL], releases=rows))["balance"]
    assert balance["released"] + balance["left"] == 500
    assert sum(row["number"] for row in balance["releases"]) == balance["released"]


def test_age_counts_from_packing_and_what_is_past_its_life_is_warned_of():
    lot = only(known(lots=[PARCEL]))
    assert lot["age"]["age_d"] == 5
    assert lot["age"]["left_d"] == -2
    assert "may be weak" in " ".join(lot["warnings"])
    unknown = only(known(lots=[dataclasses.replace(PARCEL, packed=None)]))
    assert unknown["age"]["counted_from"].startswith("arrival")
    assert "No packing date" in " ".join(unknown["warnings"])


def test_the_life_a_pack_is_sold_with_stands_before_the_usual_advice():
    pack = Pack(
        supplier="Invented Supply Two",
        enemy="aphidius_colemani",
        form="mummies",
        pack_size=250,
        label_counts="units_in_pack",
        price=20.0,
        cutoff_weekday="Thu",
        delivery_weekday="Tue",
        life_d=6.0,
    )
    age = only(known(lots=[PARCEL], packs=[pack]))["age"]
    assert (age["left_d"], age["evidence"]) == (1.0, "seller")


def test_views_on_storage_that_conflict_are_all_shown_with_their_source():
    ervi = dataclasses.replace(PARCEL, lot="B7", enemy="aphidius_ervi")
    (views,) = [row["views"] for row in arrival(known(lots=[ervi]), "B7")["storage"]]
    found = {(row["value"], row["at_degc"], row["evidence"]) for row in views if row["unit"] == "d"}
    # Source: 2 weeks at 7 °C, 7 weeks at 2 °C (Frère et al., read); within 18 h (a seller's advice).
    assert {(14.0, 7.0, "read"), (49.0, 2.0, "read"), (0.75, 7.0, "seller")} <= found
    assert any(row["quantity"] == "storage_coldest" for row in views)


def test_a_short_parcel_asks_for_a_new_plan():
    short = dataclasses.replace(PARCEL, labelled_number=400)
    told = " ".join(only(known(lots=[short]))["warnings"])
    assert "100 short of the order" in told
    assert "outpace plan" in told


def test_adults_are_counted_on_arrival_and_never_later():
    adults = dataclasses.replace(PARCEL, form="adults", enemy="aphidius_ervi", arrived=NOW)
    assert only(known(lots=[adults]))["check"]["status"] == "due"
    old = dataclasses.replace(adults, arrived=NOW - timedelta(days=5))
    assert only(known(lots=[old]))["check"]["status"] == "missed"
    counted = only(known(lots=[old], checks=[look(90, days=None, kind="live count")]))
    assert counted["check"]["status"] == "done"


@pytest.mark.parametrize(
    ("question", "take"),
    # Source: binomial sums, both errors at most 5 %; 20 is the smallest pot that is ever advised.
    [("disaster", 20), ("guideline", 21), ("claim", 262)],
)
def test_the_pot_holds_what_the_question_needs(question, take):
    sampling = only(known(lots=[PARCEL]), question=question)["sampling"]
    assert sampling["take"] == take
    assert "opened there afterwards" in sampling["words"]
    widths = [row["high"] - row["low"] for row in sampling["rows"]]
    assert widths == sorted(widths, reverse=True)
    minutes = [row["minutes"] for row in sampling["rows"]]
    assert minutes == sorted(minutes)


def test_a_lot_too_small_for_the_question_says_so():
    small = dataclasses.replace(PARCEL, labelled_number=100)
    assert only(known(lots=[small]), question="claim")["sampling"]["take"] is None


def test_letters_come_by_the_size_of_the_lot_and_a_plan_only_when_asked():
    plain = only(known(lots=[PARCEL]))["letters"]
    assert [(row["letter"], row["sample"]) for row in plain["levels"]] == [("F", 20), ("H", 50), ("J", 80)]
    assert plain["plan"] is None
    plan = only(known(lots=[PARCEL]), quality_limit=1.0)["letters"]["plan"]
    assert (plan["sample"], plan["accept"], plan["reject"]) == (50, 1, 2)
    assert np.all(np.diff([row["accepted"] for row in plan["curve"]]) < 0)


@pytest.mark.parametrize(
    "asked", [{"question": "beauty"}, {"quality_limit": 1.1}, {"lot": "B8"}, {"farm": "other"}]
)
def test_what_is_not_there_is_refused(asked):
    with pytest.raises(OutpaceError):
        arrival(known(lots=[PARCEL]), **asked)


def test_the_answer_is_plain_json_and_says_how_to_keep_people_well():
    answer = arrival(known(lots=[PARCEL], climate=warmth(20.0), checks=[look(40)]))
    assert json.loads(json.dumps(answer)) == answer
    assert "moving air" in answer["cautions"][0]
    assert answer["evidence_weakest"] == "practice"
