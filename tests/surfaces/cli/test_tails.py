"""The options with which commands end: shown one by one, and each of them heard."""

from __future__ import annotations

import contextlib
import doctest
import inspect
import sqlite3

import pytest

from outpace.surfaces.cli import main, tails

COMMANDS = dict(main.COMMANDS) | {
    f"{group} {name}": command for group, _, parts in main.GROUPS for name, command in parts
}


def kind_of(command):
    found = [each.annotation for each in inspect.signature(command, eval_str=True).parameters.values()]
    return next((kind for kind in found if isinstance(kind, type) and issubclass(kind, tails.Tail)), None)


def test_the_examples_print_what_they_say():
    told = doctest.testmod(tails)
    assert (told.failed, told.attempted > 0) == (0, True)


@pytest.mark.parametrize("name", [name for name, command in COMMANDS.items() if kind_of(command)])
def test_help_ends_with_every_option_of_the_tail_in_its_order(say, name):
    lines = [line.split()[0] for line in say(*name.split(), "--help").out.splitlines() if line[:4] == "  --"]
    options = [
        each.name.replace("as_json", "json").replace("_", "-")
        for each in inspect.signature(tails.spread(COMMANDS[name])).parameters.values()
        if each.kind is inspect.Parameter.KEYWORD_ONLY
    ]
    assert "json" in options
    assert lines[-len(options) :] == [f"--{option}" for option in options]


READ = ("climate", "typed", "Long tunnel", "--on", "2026-04-01", "--min", "9", "--max")
SEEN = ("farm", "permit", "Aphidius colemani", "--country", "GB", "--number")


@pytest.mark.parametrize(
    ("table", "first", "then"),
    [
        ("climate", (*READ, "20"), (*READ, "21", "--correct")),
        ("permits", (*SEEN, "A 1"), (*SEEN, "A 2")),
    ],
    ids=["a correction", "a change"],
)
def test_the_reason_told_is_kept_beside_what_it_replaced(farm, tmp_path, table, first, then):
    assert farm(*first).code == 0
    assert farm(*then, "--why", "read again").code == 0
    with contextlib.closing(sqlite3.connect(tmp_path / "own.book")) as book:
        reasons = book.execute('SELECT why FROM events WHERE "table" = ? ORDER BY seq', (table,)).fetchall()
    assert reasons == [(None,), ("read again",)]
