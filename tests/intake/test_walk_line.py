"""Walks told in one line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.errors import OutpaceError
from outpace.intake.walk_line import LineTold, read_walk_line


def one(text: str) -> LineTold:
    (line,) = read_walk_line(text).lines
    return line


def test_the_line_of_the_trade_is_read_whole():
    told = read_walk_line("T3: 20 looked at, 4 with greenfly, about 60, 3 mummies")
    assert told.house == "T3"
    assert told.lines == (
        LineTold(pest_word=None, looked_at=20, infested=4, aphids_about=60, mummies_about=3),
    )


@pytest.mark.parametrize(
    "text",
    [
        "30 looked at, none",
        "30 looked at, nothing found",
        "looked at 30 plants, clean",
        "30 leaves checked; no aphids",
        "thirty looked at, found none.",
    ],
)
def test_a_walk_that_found_nothing_says_so_and_is_silent_on_mummies(text):
    told = read_walk_line(text)
    assert told.found_none
    assert told.lines[0].looked_at == 30
    assert told.lines[0].aphids_about == 0
    assert told.lines[0].mummies_about is None


@pytest.mark.parametrize(
    "text",
    [
        "20 looked at, 4 with greenfly, about 60, 3 mummies",
        "20 looked at; 4 infested; ~60; 3 mummies",
        "looked at 20, greenfly on 4, around 60 aphids, three tan mummies",
        "3 mummies, 20 plants checked, 4 plants with aphids, 60 in all",
        "20 looked at, 4 with aphids and about 60, 3 closed mummies",
        "20 Looked At, 4 had greenfly, approx. 60, 3 MUMMIES!",
    ],
)
def test_the_same_walk_is_read_from_many_wordings(text):
    assert one(text) == LineTold(pest_word=None, looked_at=20, infested=4, aphids_about=60, mummies_about=3)


def test_a_named_aphid_keeps_its_words():
    assert one("20 looked at, 4 with green peach aphid, about 60").pest_word == "green peach aphid"
    assert one("20 looked at, Myzus persicae on 4").pest_word == "myzus persicae"


def test_two_aphids_make_two_lines():
    told = read_walk_line("Bay: 20 looked at, 4 with Myzus persicae, about 60, 2 with potato aphid, about 5")
    assert [(line.pest_word, line.infested, line.aphids_about) for line in told.lines] == [
        ("myzus persicae", 4, 60),
        ("potato aphid", 2, 5),
    ]


def test_no_mummies_is_zero_and_silence_is_not():
    assert one("20 looked at, 4 with greenfly, no mummies").mummies_about == 0
    assert one("20 looked at, 4 with greenfly").mummies_about is None
    assert one("20 looked at, 0 mummies, none").mummies_about == 0


def test_a_house_whose_name_holds_a_colon_keeps_it():
    assert read_walk_line("North: bay 2: 20 looked at, none").house == "North: bay 2"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "says nothing"),
        ("T3:", "says nothing"),
        ("4 with greenfly", "how many were looked at"),
        ("20 looked at", "on how many"),
        ("0 looked at, none", "0 looked at"),
        ("20 looked at, 25 with greenfly", "25 with aphids of 20"),
        ("20 looked at, 4 with greenfly, about 2", "about 2 aphids on 4"),
        ("20 looked at, 30 looked at, none", "'30 looked at'"),
        ("20 looked at, -4 with greenfly", "'-4 with greenfly'"),
        ("20 looked at, none, 4 with greenfly", "none and some"),
        ("20 looked at, lots with greenfly", "'lots with greenfly' cannot be read"),
        ("20 looked at, 4 with greenfly, the weather was fine", "cannot be read"),
        ("20 looked at, 4 with greenfly, 3.5 mummies", "cannot be read"),
        ("20 looked at, none, about 60", "cannot be read"),
        ("20 looked at, 0 with greenfly, about 60", "on none"),
        ("20 looked at, 2 with greenfly, 3 with aphids", "twice"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_quoted(text, said):
    with pytest.raises(OutpaceError) as told:
        read_walk_line(text)
    assert said in told.value.what


@given(
    st.integers(1, 500),
    st.integers(0, 500),
    st.integers(0, 5000),
    st.none() | st.integers(0, 500),
)
def test_any_walk_written_out_is_read_back(looked_at, infested, more, mummies):
    infested = min(infested, looked_at)
    about = infested + more if infested else 0
    text = f"{looked_at} looked at, {infested} with greenfly, about {about}"
    text += "" if mummies is None else f", {mummies} mummies"
    assert one(text) == LineTold(
        pest_word=None, looked_at=looked_at, infested=infested, aphids_about=about, mummies_about=mummies
    )


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_in_words(text):
    try:
        told = read_walk_line(text)
    except OutpaceError as error:
        hint = error.hint
    else:
        hint = f"{told.lines[0].looked_at} read"
    assert hint
