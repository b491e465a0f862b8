"""Every page in a real Chromium: from right to left, in both languages and lights, and by keyboard alone."""

from __future__ import annotations

import gettext
import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, Page
from tests.surfaces.web.chromium import DESK, PHONE
from tests.surfaces.web.every_page import example_pages
from tests.surfaces.web.served import chromium, rules_broken

from outpace import language
from outpace.surfaces.web import rendering

STYLES = sorted(rendering.STATIC.glob("*.css"))
SLOWEST_MS = 120_000

ARABIC = str.maketrans("abcdefghijklmnopqrstuvwxyz", "ابتثجحخدذرزسشصضطظعغفقكلمنه")
MARKS = re.compile(r"(\{[^}]*\}|<[^>]*>|`[^`]*`|&\w+;)")


class Mirrored(gettext.NullTranslations):
    """A language written from right to left: each text in Arabic letters, as long as the English."""

    def gettext(self, message: str) -> str:
        parts = MARKS.split(message)
        return "".join(part if MARKS.fullmatch(part) else part.lower().translate(ARABIC) for part in parts)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)


@pytest.fixture(scope="module")
def shown(tmp_path_factory) -> Iterator[tuple[str, dict[str, str]]]:
    with example_pages(tmp_path_factory.mktemp("book")) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


@pytest.fixture
def mirrored(monkeypatch):
    real = language._catalogue
    known = (*language.languages(), "ar")
    monkeypatch.setattr(language, "_catalogue", lambda code: Mirrored() if code == "ar" else real(code))
    monkeypatch.setattr(language, "languages", lambda: known)


@contextmanager
def screen(browser: Browser, size: tuple[int, int], **options: object) -> Iterator[Page]:
    """Yield a page on a screen of its own."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **options)  # type: ignore[arg-type]
    # A busy machine is slow, not wrong: nothing here is timed.
    context.set_default_timeout(SLOWEST_MS)
    yield context.new_page()
    context.close()


def open_all(page: Page, address: str) -> None:
    """Go to an address and open what is folded."""
    page.goto(address)
    page.wait_for_load_state("load")
    page.evaluate("document.querySelectorAll('details').forEach(item => { item.open = true })")


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_no_style_names_left_or_right_where_a_line_begins_or_ends(path):
    named = re.findall(
        r"(?:margin|padding|border)-(?:left|right)|(?<![-\w])(?:left|right):|text-align: *(?:left|right)",
        path.read_text(),
    )
    four = re.findall(r"(?:margin|padding): ([^\s;]+) ([^\s;]+) ([^\s;]+) ([^\s;]+);", path.read_text())
    assert named == []
    assert [sides for sides in four if sides[1] != sides[3]] == []


@pytest.mark.browser
@pytest.mark.parametrize("size", [PHONE, DESK], ids=lambda size: f"{size[0]}x{size[1]}")
def test_pages_from_right_to_left_stay_on_the_screen_and_keep_their_time_axis(browser, shown, mirrored, size):
    address, pages = shown
    wide, wrong = [], []
    with screen(browser, size, locale="ar") as page:
        for name, path in pages.items():
            open_all(page, address + path)
            assert page.evaluate("document.documentElement.dir") == "rtl", name
            over = page.evaluate("document.documentElement.scrollWidth") - size[0]
            if over > 0:
                wide.append((name, over))
            wrong += [(name, fault) for fault in page.evaluate(CHART_FAULTS)]
        page.goto(address + pages["house"])
        days = page.evaluate(DAYS)
    assert (wide, wrong) == ([], [])
    assert len(days) >= 3
    assert days == sorted(days)


CHART_FAULTS = """() => [...document.querySelectorAll('svg.chart')].filter(svg => svg.getBoundingClientRect().width)
  .flatMap(svg => {
    const box = svg.getBoundingClientRect();
    const faults = getComputedStyle(svg).direction === 'ltr' ? [] : ['the drawing is mirrored'];
    for (const text of svg.querySelectorAll('text')) {
      const at = text.getBoundingClientRect();
      if (at.left < box.left - 1 || at.right > box.right + 1) faults.push(`cut off: ${text.textContent}`);
    }
    return faults;
  })"""
"""What is wrong with the drawings that are seen: mirrored, or with letters beyond their edge."""

DAYS = """() => {
  const svg = [...document.querySelectorAll('svg.chart')].find(svg => svg.getBoundingClientRect().width);
  const texts = [...svg.querySelectorAll('text.day')];
  return texts.map(text => text.getBoundingClientRect().left);
}"""
"""Where the days of the first drawing stand, in the order in which they are drawn."""


@pytest.mark.browser
@pytest.mark.parametrize(
    ("size", "scheme", "spoken"),
    [
        (PHONE, "dark", "es"),
        (PHONE, "light", "es"),
        (DESK, "dark", "es"),
        (DESK, "light", "es"),
        (PHONE, "light", "en"),
        (DESK, "dark", "en"),
    ],
    ids=lambda told: told if isinstance(told, str) else f"{told[0]}x{told[1]}",
)
def test_no_accessibility_rule_is_broken_on_any_page(browser, shown, size, scheme, spoken):
    address, pages = shown
    broken = []
    with screen(browser, size, locale=spoken, color_scheme=scheme) as page:
        for name, path in pages.items():
            open_all(page, address + path)
            assert page.evaluate("document.documentElement.lang") == spoken
            broken += [(name, *fault) for fault in rules_broken(page)]
    assert broken == []


TABBABLE = """() => {
  const groups = new Set();
  return [...document.querySelectorAll(
    'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]')]
    .filter(item => !item.disabled && item.checkVisibility({ visibilityProperty: true }))
    .filter(item => {
      if (item.type !== 'radio') return true;
      // A group of choices is one stop; arrows go on within it.
      const group = `${item.form?.id}/${item.name}`;
      return !groups.has(group) && groups.add(group);
    }).length;
}"""
FOCUSED = """() => {
  const item = document.activeElement;
  if (item === document.body) return null;
  const style = getComputedStyle(item);
  const near = item.closest('.choice, .pick');
  const ring = style.outlineStyle !== 'none' || (near && getComputedStyle(near).outlineStyle !== 'none');
  // A field of a date has stops of its own: it is the same field still.
  if (item !== window.last) item.dataset.met = Number(item.dataset.met || 0) + 1;
  const again = item === window.last;
  window.last = item;
  return { met: Number(item.dataset.met), again, ring, text: item.outerHTML.slice(0, 90) };
}"""


@pytest.mark.browser
def test_the_keyboard_reaches_everything_on_every_page_and_shows_where_it_is(browser, shown):
    address, pages = shown
    faults = []
    with screen(browser, DESK, locale="en") as page:
        for name, path in pages.items():
            page.goto(address + path)
            page.wait_for_load_state("networkidle")
            wanted, met = page.evaluate(TABBABLE), 0
            for _ in range(3 * wanted + 10):
                page.keyboard.press("Tab")
                at = page.evaluate(FOCUSED)
                if at is None or at["met"] > 1:
                    break
                met += not at["again"]
                if not at["ring"]:
                    faults.append((name, "no ring", at["text"]))
            if met < wanted:
                faults.append((name, f"{met} of {wanted} reached", ""))
    assert faults == []
