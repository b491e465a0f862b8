"""Every text that people see passes through the door to the catalogues, proved by a language made on the fly.

In that language each text stands between ⟦ and ⟧. What is visible and stands outside was never told: names, numbers,
keys and what people wrote themselves may.
"""

from __future__ import annotations

import gettext
import re
from html.parser import HTMLParser

import pytest
from tests.surfaces.web.conftest import EXAMPLES, NO_FINDS, example

from outpace import language
from outpace.facts import table as facts
from outpace.language import Manner, mannered
from outpace.surfaces.sheets import forms, mummy_card, spray_signs, walk_plan, week_sheet
from outpace.surfaces.web.manner import COOKIE

PAGES = (
    "/",
    "/plan",
    "/course/south",
    "/enemies/south",
    "/edges/south",
    "/points",
    "/points?house=south&lot=L-2201&number=460&carrier=500",
    "/share",
    "/share?lot=L-2201",
    "/bankers",
    "/standing",
    "/house/south",
    "/house/south/whatif?warmer=3",
    "/nofinds/south",
    "/walk",
    "/walk/south",
    "/review",
    "/facts",
    "/lag",
    "/count",
)
FIRST_PAGES = ("/language", "/facts", "/lag", "/nowhere")
SAID_BY_ITSELF = re.compile(r"[A-Za-z]{3,}[^⟦⟧]*\s+[a-z]{3,}")
"""Two words or more in a row, the second of them not a name."""

BY_THEIR_OWN_NAMES = ("outpace", "Español", "English", "EPPO", "Aphidius", "Myzus", "http", "R1", "CRPS")


class Marked(gettext.NullTranslations):
    """A language in which every text is itself between brackets."""

    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"


class Seen(HTMLParser):
    """What a reader sees or hears of a page, piece by piece."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.pieces: list[str] = []
        self._hidden = 0
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        told = dict(attrs)
        self._hidden += tag in ("script", "style", "code", "pre")
        self.pieces += [
            told[name] for name in ("aria-label", "title", "placeholder", "alt") if told.get(name)
        ]

    def handle_endtag(self, tag):
        self._hidden -= tag in ("script", "style", "code", "pre")

    def handle_data(self, data):
        if not self._hidden:
            self.pieces.append(data)


def outside(text: str) -> str:
    """Return what stands in no brackets, which may stand within each other."""
    depth, kept = 0, []
    for letter in text:
        depth += letter == "⟦"
        if depth == 0:
            kept.append(letter)
        depth -= letter == "⟧"
    return "".join(kept)


def untold(pieces: list[str], known: set[str]) -> list[str]:
    """Return the pieces that still hold words when all that is known, or stands in brackets, is taken out."""
    left = []
    for piece in pieces:
        bare = outside(piece).replace("\u00a0", " ")
        for one in sorted((one for one in known if len(one) > 2 and one in bare), key=len, reverse=True):
            bare = bare.replace(one, "")
        if SAID_BY_ITSELF.search(bare):
            left.append(bare.strip())
    return left


@pytest.fixture
def marked(monkeypatch):
    real = language._catalogue
    monkeypatch.setattr(language, "_catalogue", lambda code: Marked() if code == "es" else real(code))


def strings_of(value: object) -> set[str]:
    """Return every text that the example answers bring along: on a real farm the season says them."""
    if isinstance(value, dict):
        return set().union(*(strings_of(part) for part in (*value.values(), *value)), set())
    if isinstance(value, list | tuple):
        return set().union(*(strings_of(part) for part in value), set())
    if not isinstance(value, str):
        return set()
    return {value, value[:1].upper() + value[1:], *(part.strip() for part in value.split("`"))}


@pytest.mark.parametrize("path", dict.fromkeys((*PAGES, *FIRST_PAGES)))
def test_a_page_says_nothing_that_was_not_told(path, client, marked):
    brought = set().union(*(strings_of(example(file.stem)) for file in EXAMPLES.glob("*.json"))) | {NO_FINDS}
    brought |= {species.latin for species in facts.load().species.values()}
    client.cookies.set(COOKIE, "language=es")
    page = client.get(path).text.replace("\u00a0", " ")
    assert 'lang="es"' in page
    assert "⟦" in page
    assert untold(Seen(page).pieces, {*brought, *BY_THEIR_OWN_NAMES}) == []


def test_the_test_sees_a_text_that_was_not_told():
    assert untold(["⟦Live aphids⟧", "seen here by nobody"], set()) == ["seen here by nobody"]


SHEETS = {
    "walk form": lambda: blocks_of(
        forms.walk_form,
        {"house": "south", "crop": "sweet_pepper", "area_m2": 200.0, "plants": 400},
        "example cove",
        "2026-04-20",
    ),
    "arrival card": lambda: blocks_of(forms.arrival_card, "example cove", "2026-04-20"),
    "mummy card": lambda: blocks_of(mummy_card.render),
}


def blocks_of(make, *arguments) -> list[str]:
    """Return every text that a sheet hands to the typesetter."""
    kept: list[dict] = []
    from outpace.surfaces.sheets import paper

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(paper, "typeset", lambda _, data: kept.append(dict(data)) or b"")
        make(*arguments)
    left = {"kind", "svg"}

    def texts(value: object) -> list[str]:
        if isinstance(value, dict):
            return [text for key, part in value.items() if key not in left for text in texts(part)]
        if isinstance(value, list | tuple):
            return [text for part in value for text in texts(part)]
        return [value] if isinstance(value, str) else []

    return texts(kept)


@pytest.mark.parametrize("sheet", SHEETS)
def test_a_sheet_says_nothing_that_was_not_told(sheet, marked):
    with mannered(Manner(language="es")):
        assert untold(SHEETS[sheet](), {"example cove,"}) == []


@pytest.mark.parametrize(
    "data",
    [
        lambda answers: week_sheet.sheet_data(answers("ahead")),
        lambda answers: walk_plan.sheet_data(answers("walkplan")),
        lambda answers: (
            spray_signs.sheet_data(answers("spray")) if hasattr(spray_signs, "sheet_data") else {}
        ),
    ],
    ids=["week sheet", "walk plan", "spray posting"],
)
def test_a_sheet_of_its_own_says_nothing_that_was_not_told(data, marked):
    with mannered(Manner(language="es")):
        found = {key: value for key, value in data(example).items() if key not in ("chart", "mark")}
    pieces = [text for text in strings_of(found) if text]
    brought = set().union(*(strings_of(example(name)) for name in ("ahead", "walkplan", "spray")))
    assert untold(pieces, brought | set(strings_of(list(found)))) == []
