"""The command line in this process, on one book; an answer is worked out once and asked for as text and as JSON."""

from __future__ import annotations

import contextlib
import csv
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import jsonschema

import outpace.surfaces.schemas
from outpace.surfaces.cli.main import outcome

SCHEMAS = Path(outpace.surfaces.schemas.__file__).parent
OTHER_FARM = Path(__file__).parents[1] / "data" / "other_farm"


@dataclass(frozen=True)
class Said:
    """What one command answered."""

    code: int
    out: str
    err: str


@dataclass
class CommandLine:
    """Commands on one book."""

    book: Path
    kept: dict[tuple[str, ...], Said] = field(default_factory=dict)

    def run(self, *words: object) -> Said:
        """Run a command anew."""
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = outcome([*(str(word) for word in words), "--book", str(self.book)])
        return Said(code, out.getvalue(), err.getvalue())

    def text(self, *words: object) -> str:
        """Return the answer of a command that must succeed; the second time from what was kept."""
        key = tuple(str(word) for word in words)
        if key not in self.kept:
            self.kept[key] = self.run(*words)
        said = self.kept[key]
        assert said.code == 0, said.err
        return said.out

    def answer(self, *words: object) -> dict[str, Any]:
        """Return the answer as JSON."""
        told: dict[str, Any] = json.loads(self.text(*words, "--json"), parse_constant=refuse_constant)
        return told

    def head(self) -> str:
        """Return the head of the book."""
        return str(self.answer_now("book", "heads"))

    def answer_now(self, *words: object) -> dict[str, Any]:
        """Return the answer as JSON, worked out anew."""
        said = self.run(*words, "--json")
        assert said.code == 0, said.err
        told: dict[str, Any] = json.loads(said.out, parse_constant=refuse_constant)
        return told


def refuse_constant(name: str) -> None:
    """Refuse what is no JSON number: NaN and the infinities."""
    raise AssertionError(f"{name} stands in an answer")


def faults(answer: Mapping[str, Any]) -> list[str]:
    """Return where an answer breaks the schema that it names."""
    name = str(answer["schema"]).removeprefix("outpace.").partition("/")[0]
    schema = json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8"))
    checked = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())
    return [f"{list(fault.path)}: {fault.message}" for fault in checked.iter_errors(answer)]


def write_table(folder: Path, name: str, rows: Sequence[Mapping[str, object]]) -> Path:
    """Write one table of a data package; a column that no row fills is left out."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(dict.fromkeys(key for row in rows for key in row)))
        writer.writeheader()
        writer.writerows(rows)
    return path
