"""An answer is worked out once, and anew as soon as anything it rests on is another."""

from __future__ import annotations

import stat
from datetime import UTC, datetime, timedelta

import pytest

from outpace.language import Manner, mannered
from outpace.season import worked_out
from outpace.season.worked_out import forget, once

NOON = datetime(2026, 5, 4, 12, 5, tzinfo=UTC)


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("OUTPACE_CACHE", str(tmp_path / "answers"))


class Work:
    def __init__(self):
        self.times = 0

    def __call__(self):
        self.times += 1
        return {"answer": [1.5, None, "ñ"], "time": self.times}


def test_the_same_question_is_worked_out_once_and_answered_alike():
    work = Work()
    first = once(("week", "farm"), "head", work, at=NOON)
    assert once(("week", "farm"), "head", work, at=NOON + timedelta(minutes=50)) == first
    assert work.times == 1


@pytest.mark.parametrize(
    "other",
    [
        lambda work: once(("week", "farm"), "another head", work, at=NOON),
        lambda work: once(("week", "another farm"), "head", work, at=NOON),
        lambda work: once(("week", "farm"), "head", work, at=NOON + timedelta(hours=1)),
    ],
    ids=["head", "question", "hour"],
)
def test_another_head_question_or_hour_is_worked_out_anew(other):
    work = Work()
    once(("week", "farm"), "head", work, at=NOON)
    assert other(work)["time"] == 2


def test_another_program_language_or_decimal_mark_is_worked_out_anew(monkeypatch):
    work = Work()
    once(("week",), "head", work, at=NOON)
    monkeypatch.setattr(worked_out, "_program", lambda: "changed")
    assert once(("week",), "head", work, at=NOON)["time"] == 2
    with mannered(Manner(language="es")):
        assert once(("week",), "head", work, at=NOON)["time"] == 3
    with mannered(Manner(language="es", decimal=",")):
        assert once(("week",), "head", work, at=NOON)["time"] == 4


def test_kept_answers_are_the_users_own_and_go_when_told():
    work = Work()
    once(("week",), "head", work, at=NOON)
    (kept,) = worked_out.folder().glob("*.json.gz")
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    forget()
    assert not kept.exists()
    assert once(("week",), "head", work, at=NOON)["time"] == 2


def test_a_broken_file_or_a_folder_that_cannot_be_is_no_hindrance(tmp_path, monkeypatch):
    work = Work()
    once(("week",), "head", work, at=NOON)
    (kept,) = worked_out.folder().glob("*.json.gz")
    kept.write_bytes(b"not gzip")
    assert once(("week",), "head", work, at=NOON)["time"] == 2
    in_the_way = tmp_path / "a file"
    in_the_way.write_text("")
    monkeypatch.setenv("OUTPACE_CACHE", str(in_the_way / "answers"))
    assert once(("week",), "head", work, at=NOON)["time"] == 3


def test_only_so_many_answers_stay(monkeypatch):
    monkeypatch.setattr(worked_out, "KEPT", 3)
    for number in range(6):
        once(("week", str(number)), "head", Work(), at=NOON)
    assert len(list(worked_out.folder().glob("*.json.gz"))) == 3
