"""Keep the catalogues of what people read: gather the texts, carry them into each language, compile.

    python -m tools.catalogues            gather, update every .po, compile every .mo
    python -m tools.catalogues --check    say what is missing, write nothing; exit code 1 if anything is

A new language: `python -m tools.catalogues --add fr`, then fill `src/outpace/catalogues/fr/LC_MESSAGES/outpace.po`.
"""

from __future__ import annotations

import argparse
import ast
import dataclasses
import importlib
import io
import pkgutil
import re
import string
import sys
from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from jinja2 import nodes
from typer.main import get_command

from outpace import terms
from outpace.facts import table
from outpace.records import columns
from outpace.records.checks import in_words
from outpace.season.audit_tables import SECTIONS
from outpace.season.book_words import parted
from outpace.surfaces.cli.main import build_app
from outpace.surfaces.cli.spoken import texts_of
from outpace.surfaces.sheets.told import WORDS
from outpace.surfaces.web.rendering import environment
from outpace.terms.tables import TABLES

ROOT = Path(__file__).parent.parent
SOURCE = ROOT / "src" / "outpace"
CATALOGUES = SOURCE / "catalogues"
DOORS = {"say": 1, "to_say": 1, "say_marked": 1, "_": 1, "say_many": 2, "told_many": 2}
"""Functions that texts pass through, each with how many of its first arguments are texts."""

Text = tuple[str, ...]


def texts_of_python(source: str) -> Iterator[tuple[Text, int]]:
    """Yield every text that a module passes through a door, with its line.

    Examples
    --------
    >>> list(texts_of_python("say('a ' 'b')\\nsay_many('{n} day', '{n} days', n)"))
    [(('a b',), 1), (('{n} day', '{n} days'), 2)]
    """
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "id", getattr(node.func, "attr", ""))
        if name not in DOORS or isinstance(node.func, ast.Attribute):
            continue
        told = node.args[: DOORS[name]]
        if len(told) == DOORS[name] and all(
            isinstance(part, ast.Constant) and isinstance(part.value, str) for part in told
        ):
            yield tuple(str(part.value) for part in told), node.lineno  # type: ignore[attr-defined]


def texts_of_template(source: str) -> Iterator[tuple[Text, int]]:
    """Yield every text that a template passes through a door, with its line."""
    for call in environment().parse(source).find_all(nodes.Call):
        name = getattr(call.node, "name", "")
        told = call.args[: DOORS.get(name, 0)]
        if told and all(isinstance(part, nodes.Const) and isinstance(part.value, str) for part in told):
            yield tuple(part.value for part in told), call.lineno  # type: ignore[attr-defined]


def texts_of_sheet(source: str) -> Iterator[tuple[Text, int]]:
    """Yield every text that the template of a printed sheet says by itself."""
    for text in WORDS.findall(source):
        yield (text,), 0


READERS = {".py": texts_of_python, ".html": texts_of_template, ".typ": texts_of_sheet}


def vocabulary() -> Iterator[str]:
    """Yield the words that are keys in data and are read by people too."""
    for module in pkgutil.iter_modules(terms.__path__):
        for kind in vars(importlib.import_module(f"outpace.terms.{module.name}")).values():
            if dataclasses.is_dataclass(kind):
                for column in dataclasses.fields(kind):
                    yield from column.metadata.get("one_of") or ()
    facts = table.load()
    for known in (*facts.species.values(), *facts.crops.values()):
        yield known.english
    for row in facts.rows():
        yield from (row.quantity.replace("_", " "), row.evidence, (row.spread or "").replace("_", " "))
    for rate in facts.release_rates:
        yield rate.use
    for name in TABLES:
        for column in columns.table(name).columns:
            yield from (*in_words(column), parted(column.stored)[0])
    yield from texts_of(get_command(build_app()))
    for section in SECTIONS:
        yield from (section.title, *(title for _, title in section.columns))
    yield from ("No verdict", "unit")


def gathered() -> Catalog:
    """Return every text of the program, each with the files it stands in."""
    found = Catalog(project="outpace", charset="utf-8", fuzzy=False)
    for path in sorted(path for path in SOURCE.rglob("*") if path.suffix in READERS):
        texts = READERS[path.suffix]
        place = path.relative_to(SOURCE).as_posix()
        seen = set()
        for text, _ in texts(path.read_text(encoding="utf-8")):
            if not text[0]:
                continue
            # Lines move with every edit, and a catalogue would with them: the file is enough to find a text.
            where = [] if (text, place) in seen else [(place, None)]
            found.add(text[0] if len(text) == 1 else text, locations=where)  # type: ignore[list-item]
            seen.add((text, place))
    for word in sorted(set(vocabulary())):
        if re.search(r"[a-z]{2}", word):
            found.add(word, locations=[("words of the data", None)])
    return found


def braces(text: str) -> set[str]:
    """Return the names of a text's braces.

    Examples
    --------
    >>> sorted(braces("{n} plants in {house}, {share:.0f} %"))
    ['house', 'n', 'share']
    """
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def faults(message: Message) -> list[str]:
    """Return what is wrong with one entry of a catalogue."""
    one = message.id if isinstance(message.id, str) else message.id[0]
    told = [message.string] if isinstance(message.string, str) else list(message.string or ())
    if message.fuzzy:
        return [f"fuzzy: {one!r}"]
    if not all(told) or not told:
        return [f"no translation: {one!r}"]
    sources = [message.id] if isinstance(message.id, str) else list(message.id)
    # A text without braces to fill is never filled: its braces are letters.
    wanted = set().union(*(braces(text) for text in sources if _is_filled(text)))
    found = []
    for number, text in enumerate(told):
        try:
            has = braces(text) if _is_filled(one) else set()
        except ValueError as error:
            found.append(f"braces do not close: {text!r} ({error})")
            continue
        # The form for one may leave the number out: "one day".
        if has != wanted and not (number == 0 and len(told) > 1 and has | {"n"} == wanted | {"n"}):
            found.append(f"other braces than {sorted(wanted)}: {text!r}")
        if text[:1].isspace() != one[:1].isspace() or text[-1:].isspace() != one[-1:].isspace():
            found.append(f"spaces at an end differ: {text!r}")
    return found


def _is_filled(text: str) -> bool:
    try:
        return bool(braces(text))
    except ValueError:
        return False


def updated(language: str, template: Catalog) -> Catalog:
    """Return a language's catalogue with every text of the program and none beside, what was told kept."""
    path = po_path(language)
    with path.open("rb") as file:
        known = read_po(file, locale=language)
    told = {message.id: message for message in known if message.id}
    made = Catalog(
        locale=language,
        project="outpace",
        charset="utf-8",
        fuzzy=False,
        header_comment=known.header_comment,
        creation_date=known.creation_date,
        revision_date=known.revision_date,
        last_translator=known.last_translator,
        language_team=known.language_team,
    )
    for message in sorted(template, key=lambda each: (str(each.locations[:1]), str(each.id))):
        if message.id:
            before = told.get(message.id)
            made.add(
                message.id,
                string=before.string if before else None,
                locations=message.locations,
                user_comments=before.user_comments if before else (),
            )
    return made


def po_path(language: str) -> Path:
    """Return where a language's texts are written by hand."""
    return CATALOGUES / language / "LC_MESSAGES" / "outpace.po"


def as_po(catalogue: Catalog) -> bytes:
    """Return a catalogue as it is kept in the repository."""
    made = io.BytesIO()
    write_po(made, catalogue, width=100, include_lineno=False)
    return made.getvalue()


def as_mo(po: bytes) -> bytes:
    """Return a catalogue as it is read at run time."""
    made = io.BytesIO()
    catalogue = read_po(io.BytesIO(po))
    write_mo(made, catalogue)
    return made.getvalue()


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing; say what is missing")
    parser.add_argument("--add", metavar="LANGUAGE", help="begin a catalogue")
    told = parser.parse_args()
    template = gathered()
    if told.add:
        path = po_path(told.add)
        path.parent.mkdir(parents=True)
        path.write_bytes(as_po(Catalog(locale=told.add, project="outpace", fuzzy=False)))
    wrong = 0
    for path in sorted(CATALOGUES.glob("*/LC_MESSAGES/outpace.po")):
        language = path.parent.parent.name
        catalogue = updated(language, template)
        po = as_po(catalogue)
        listed = [fault for message in catalogue if message.id for fault in faults(message)]
        wrong += len(listed)
        total = sum(1 for message in catalogue if message.id)
        print(f"{language}: {total} texts, {len(listed)} to mend")
        if told.check:
            stale = po != path.read_bytes() or as_mo(po) != path.with_suffix(".mo").read_bytes()
            wrong += stale
            if stale:
                print(f"{language}: not up to date, run `make catalogues`")
        else:
            path.write_bytes(po)
            path.with_suffix(".mo").write_bytes(as_mo(po))
        for fault in listed[:40]:
            print(f"  {fault}", file=sys.stderr)
    return 1 if wrong and told.check else 0


if __name__ == "__main__":
    sys.exit(main())
