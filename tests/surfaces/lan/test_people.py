"""Signing in: hashes only on disk, wrong tries slowed down, sessions that end."""

from __future__ import annotations

import stat

import pytest

from outpace.errors import OutpaceError
from outpace.surfaces.lan.people import FREE_TRIES, LONGEST_WAIT_S, SESSION_S, People, TooOften

PASSWORD = "four words none expects"


class Clock:
    now = 1_000_000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def people(tmp_path, clock):
    opened = People(tmp_path / "people.db", clock)
    opened.add("Ana", PASSWORD)
    yield opened
    opened.close()


def test_the_right_password_begins_a_session_and_no_other_does(people):
    assert people.sign_in("Ana", "wrong words none expects", "10.0.0.9") is None
    assert people.sign_in("Nobody", PASSWORD, "10.0.0.9") is None
    token = people.sign_in("Ana", PASSWORD, "10.0.0.9")
    assert people.signed_in(token) == "Ana"
    assert people.signed_in(token + "x") is None
    assert people.signed_in(None) is None


def test_neither_password_nor_token_lies_on_the_disk(people, tmp_path):
    token = people.sign_in("Ana", PASSWORD, "10.0.0.9")
    content = (tmp_path / "people.db").read_bytes()
    assert b"$argon2id$" in content
    assert PASSWORD.encode() not in content
    assert token.encode() not in content
    assert stat.S_IMODE((tmp_path / "people.db").stat().st_mode) == 0o600


def test_wrong_tries_make_each_next_one_wait_longer_and_even_the_right_one_waits(people, clock):
    for _ in range(FREE_TRIES):
        assert people.sign_in("Ana", "no", "10.0.0.9") is None
    with pytest.raises(TooOften) as first:
        people.sign_in("Ana", PASSWORD, "10.0.0.9")
    # From another address the name is slowed down too, and from this address every name.
    with pytest.raises(TooOften):
        people.sign_in("ana ", "no", "10.0.0.10")
    with pytest.raises(TooOften):
        people.sign_in("Ben", "no", "10.0.0.9")
    clock.now += first.value.wait_s + 0.1
    assert people.sign_in("Ana", "no", "10.0.0.9") is None
    with pytest.raises(TooOften) as second:
        people.sign_in("Ana", "no", "10.0.0.9")
    assert second.value.wait_s > 1.9 * first.value.wait_s
    clock.now += LONGEST_WAIT_S
    assert people.sign_in("Ana", PASSWORD, "10.0.0.9")
    assert people.sign_in("Ana", "no", "10.0.0.9") is None


def test_a_session_ends_by_signing_out_by_time_and_by_a_new_password(people, clock):
    first, second, third = (people.sign_in("Ana", PASSWORD, "10.0.0.9") for _ in range(3))
    people.sign_out(first)
    assert people.signed_in(first) is None
    assert people.signed_in(second) == "Ana"
    clock.now += SESSION_S + 1
    assert people.signed_in(second) is None
    fourth = people.sign_in("Ana", PASSWORD, "10.0.0.9")
    people.add("Ana", "quite another set of words")
    assert people.signed_in(fourth) is None
    assert people.signed_in(third) is None
    assert people.sign_in("Ana", PASSWORD, "10.0.0.9") is None


def test_a_session_outlives_the_program(people, tmp_path, clock):
    token = people.sign_in("Ana", PASSWORD, "10.0.0.9")
    again = People(tmp_path / "people.db", clock)
    assert again.signed_in(token) == "Ana"
    again.close()


def test_a_short_password_is_refused_with_what_is_allowed(people):
    with pytest.raises(OutpaceError, match="password of 5 letters"):
        people.add("Ben", "abcde")
