"""One door to the catalogues: what is said without one, and that a task's language stays its own."""

from __future__ import annotations

import threading

import pytest

from outpace.language import (
    Manner,
    direction,
    languages,
    manner_of,
    mannered,
    preferred,
    say,
    say_many,
    speaking,
    spoken_language,
    written,
)


def test_a_sentence_without_catalogue_is_said_in_english():
    with speaking("xx"):
        assert spoken_language() == "en"
        assert say("no such sentence {n:.1f}", n=2) == "no such sentence 2.0"


def test_a_text_without_values_keeps_its_braces():
    assert say("an open {brace}") == "an open {brace}"


def test_nothing_said_is_nothing_and_never_the_head_of_a_catalogue():
    assert say("") == ""


def test_one_and_many_follow_the_number():
    assert [say_many("{n} day", "{n} days", n) for n in (0, 1, 1.5, 2)] == [
        "0 days",
        "1 day",
        "1.5 days",
        "2 days",
    ]


def test_the_language_of_one_task_is_not_that_of_another():
    heard = []
    with speaking(languages()[-1]):
        other = threading.Thread(target=lambda: heard.append(spoken_language()))
        other.start()
        other.join()
    assert heard == ["en"]


def test_right_to_left_languages_are_known_by_their_first_part():
    assert (direction("ar-EG"), direction("es")) == ("rtl", "ltr")


def test_numbers_in_a_text_follow_the_readers_decimal_mark():
    with mannered(Manner(decimal=",")):
        assert say("{amount:,.1f} of {lot}", amount=1204.5, lot="A.1") == "1\u00a0204,5 of A.1"
        assert say_many("{n} day", "{n} days", 1.5) == "1,5 days"
        assert written("0.5") == "0,5"


@pytest.mark.parametrize(
    ("accepted", "mark"),
    # Source: common practice, recalled: Mexico writes a decimal point, Spain a comma.
    [("es-MX,es;q=0.9", "."), ("es-ES,en;q=0.2", ","), ("en-GB", "."), ("xx", ".")],
)
def test_the_decimal_mark_comes_from_the_land_of_the_language(accepted, mark):
    assert manner_of(preferred(accepted)).decimal == mark


def test_what_is_no_choice_counts_as_not_chosen():
    assert manner_of("en", weeks="us", decimal="half") == Manner(weeks="us")
