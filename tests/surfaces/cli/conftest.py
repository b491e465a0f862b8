"""A command line in this process, with a book of its own."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from outpace.surfaces.cli.main import outcome


@dataclass(frozen=True)
class Said:
    """What one command answered."""

    code: int
    out: str
    err: str


@pytest.fixture
def say(tmp_path, monkeypatch, capsys):
    """Run one command and return its exit code, stdout and stderr."""
    monkeypatch.setenv("OUTPACE_BOOK", str(tmp_path / "own.book"))
    monkeypatch.setenv("OUTPACE_BY", "Ida")
    monkeypatch.setenv("COLUMNS", "80")

    def run(*words):
        capsys.readouterr()
        code = outcome([str(word) for word in words])
        told = capsys.readouterr()
        return Said(code, told.out, told.err)

    return run


@pytest.fixture
def farm(say):
    """Begin a farm with one house, and return the command line."""
    place = ("--place", "54.1,-3.2", "--time-zone", "Europe/London", "--currency", "GBP")
    assert say("farm", "Kelp Lane", *place).code == 0
    house = ("--crop", "sweet pepper", "--area", "240", "--plants", "520")
    assert say("house", "Long tunnel", *house).code == 0
    return say
