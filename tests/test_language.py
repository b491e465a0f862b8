"""One door to the catalogues: what is said without one, and that a task's language stays its own."""

from __future__ import annotations

import threading

from outpace.language import direction, languages, say, say_many, speaking, spoken_language


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
