"""Help, usage errors and errors of commands in another language, and that none is left in English alone."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.surfaces.web.test_every_text_is_told import Marked, outside

from outpace import language
from outpace.surfaces.cli.main import command_names

SOURCE = Path(__file__).parents[3] / "src" / "outpace"
DOORS = {"say", "to_say", "say_marked", "_", "say_many", "told_many"}
TOLD_TO_PEOPLE = {"OutpaceError", "ManyErrors", "Question", "Choice", "Entered", "progress", "_refuse"}
WORDS = re.compile(r"[A-Za-z]{2,}[^`]*?\s+[a-z]{2,}")
"""Two words, the second no name: what stands between ticks is typed as it is in every language."""


@pytest.fixture
def marked(monkeypatch):
    real = language._catalogue
    monkeypatch.setattr(language, "_catalogue", lambda code: Marked() if code == "es" else real(code))
    monkeypatch.setenv("OUTPACE_LANGUAGE", "es")


@pytest.mark.parametrize(
    "name", ["", *sorted({name.split()[0] for name in command_names()}), *command_names()]
)
def test_help_says_nothing_that_was_not_told(name, say, marked):
    said = say(*name.split(), "--help")
    assert said.code == 0
    # The first line names the command as it is typed; a kind of value stands between < and >.
    lines = outside(said.out).splitlines()[1:]
    assert [
        line for line in lines if re.search(r"[A-Za-z]{2,}[ ,]+[a-z]{2,}", re.sub("<.*?>", "", line))
    ] == []


@pytest.mark.parametrize("name", command_names())
def test_spanish_help_keeps_to_eighty_columns(name, say, monkeypatch):
    monkeypatch.setenv("OUTPACE_LANGUAGE", "es_ES.UTF-8")
    said = say(*name.split(), "--help")
    assert said.out.startswith("Uso: outpace")
    assert [line for line in said.out.splitlines() if len(line) > 80] == []


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (["wek"], "no existe la orden 'wek'"),
        (["week", "--jsn"], "no existe la opción --jsn"),
        (["lag"], "falta la opción '--enemy'"),
        (["ahead"], "falta el argumento 'HOUSE'"),
        (["ahead", "bay", "two"], "palabras inesperadas: two"),
        (["ahead", "bay", "--days", "soon"], "valor no válido para '--days': debe ser un número entero"),
        (["ahead", "bay", "--days", "99"], "debe ser como máximo 60"),
        (["spray", "add", "bay", "--kind", "rain"], "'rain' no es uno de"),
        (["lag", "--enemy", "colemni", "--pest", "MYZUPE", "--temperature", "18"], "ningún enemigo se llama"),
    ],
)
def test_what_was_typed_wrong_is_told_in_the_language_of_the_terminal(typed, told, say, monkeypatch):
    monkeypatch.setenv("OUTPACE_LANGUAGE", "es")
    said = say(*typed)
    assert said.code == 2
    assert said.err.startswith("error: ")
    assert told in said.err
    assert "\n\nsugerencia: " in said.err


def untold_texts(node: ast.AST) -> Iterator[ast.Constant]:
    """Yield the texts of an argument that pass through no door."""
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in DOORS:
        return
    if isinstance(node, ast.Compare):
        return
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node
    for part in ast.iter_child_nodes(node):
        yield from untold_texts(part)


def said_in_one_language(source: str) -> list[str]:
    """Return the texts that people read of a module and no catalogue can hold."""
    found = []
    for call in ast.walk(ast.parse(source)):
        if not isinstance(call, ast.Call):
            continue
        name = getattr(call.func, "id", getattr(call.func, "attr", ""))
        talks = name == "say" and isinstance(call.func, ast.Attribute)
        if name not in TOLD_TO_PEOPLE and not talks:
            continue
        for argument in (*call.args, *(keyword.value for keyword in call.keywords)):
            texts = [re.sub("`[^`]*`", "", str(text.value)) for text in untold_texts(argument)]
            found += [text for text in texts if WORDS.search(text)]
    return found


FILES = sorted(SOURCE.rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_no_error_or_progress_is_said_in_one_language_only(path):
    assert said_in_one_language(path.read_text(encoding="utf-8")) == []


def test_the_test_sees_an_error_in_one_language():
    assert said_in_one_language('raise OutpaceError(f"{n} rows too many", hint=say("split it"))') == [
        " rows too many"
    ]
    assert said_in_one_language('door.say("this is ready")') == ["this is ready"]
    assert said_in_one_language('door.say(say("this is ready"))') == []
