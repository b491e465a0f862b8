"""The pages in a real Chromium, on a phone and on a desk."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser
from tests.surfaces.web.chromium import DESK, NARROWEST, PHONE
from tests.surfaces.web.every_page import pages
from tests.surfaces.web.served import chromium, rules_broken, served, visit

from outpace.surfaces.web.app import create_app

pytestmark = pytest.mark.browser


PATHS = (
    "/",
    "/house/south",
    "/house/south/whatif?warmer=3",
    "/nofinds/south",
    "/course/south",
    "/enemies/south",
    "/edges/south",
    "/points",
    "/points?house=south&lot=L-2201&number=460&carrier=500",
    "/share",
    "/share?lot=L-2201",
    "/bankers",
    "/standing",
    "/walk",
    "/walk/south",
    "/count",
    "/plan",
    "/trace",
    "/trace?code=K-20",
    "/review",
    "/lag",
    "/lag?enemy=aphidius_colemani&pest=myzus_persicae&temperature=18&release=2026-04-20",
    "/facts",
    "/facts/aphidius_colemani",
    "/species-key",
    "/species-key?tubes=dark&tail=dark",
    "/species-key?brow=inward&feelers=ringed",
)
MORE_ASKED = tuple(path for path in PATHS if path not in pages(["south"]).values())


@pytest.fixture
def address(answers) -> Iterator[str]:
    with served(create_app("no such book", answers=answers)) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


@pytest.mark.parametrize("size", [PHONE, DESK, NARROWEST], ids=lambda size: f"{size[0]}x{size[1]}")
def test_pages_load_without_faults_ask_no_other_host_and_do_not_scroll_sideways(browser, address, size):
    for path in PATHS:
        watched = visit(browser, address + path, size)
        watched.page.evaluate("document.querySelectorAll('details').forEach(item => { item.open = true })")
        assert watched.faults == [], path
        assert watched.hosts == {"127.0.0.1"}, path
        assert watched.page.evaluate("document.documentElement.scrollWidth") <= size[0], path
        assert watched.page.locator("h1").is_visible()
        watched.page.context.close()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=lambda size: f"{size[0]}x{size[1]}")
def test_each_size_shows_the_drawing_made_for_it(browser, address, size):
    watched = visit(browser, f"{address}/house/south", size)
    shown = watched.page.locator("svg.chart:visible")
    assert shown.count() == 2
    wanted = 960 if size == DESK else 360
    assert [shown.nth(n).get_attribute("viewBox").split()[2] for n in range(2)] == [str(wanted)] * 2
    # Letters keep a size that can be read: at least 11 px on the screen.
    letters = watched.page.evaluate(
        "[...document.querySelectorAll('svg.chart text')].map(t => t.getBoundingClientRect().height)"
        ".filter(h => h > 0)"
    )
    assert min(letters) >= 11
    watched.page.context.close()


def test_the_policy_stops_script_and_style_that_got_into_a_page(browser, address):
    watched = visit(browser, f"{address}/", DESK)
    watched.page.evaluate(
        "() => { const s = document.createElement('script'); s.textContent = 'window.got_in = 1';"
        " document.body.append(s); }"
    )
    assert watched.page.evaluate("window.got_in") is None
    assert any("Content Security Policy" in fault for fault in watched.faults)
    watched.page.context.close()


def test_things_to_tap_are_large_enough_for_a_thumb(browser, address):
    watched = visit(browser, f"{address}/lag", PHONE)
    for selector in (".press", "input:not([type=hidden])", "select", "nav a"):
        for height in watched.page.locator(selector).evaluate_all("all => all.map(e => e.offsetHeight)"):
            assert height >= 44, selector
    watched.page.context.close()


def test_the_lag_form_works_from_the_keyboard_and_without_script(browser, address):
    watched = visit(browser, f"{address}/lag", PHONE, java_script_enabled=False)
    watched.page.fill("#temperature", "18,5")
    with watched.page.expect_navigation():
        watched.page.press("#temperature", "Enter")
    assert "First mummies" in watched.page.inner_text("main")
    assert watched.page.input_value("#temperature") == "18,5"
    watched.page.context.close()


def test_a_loggers_file_is_sent_and_refused_or_answered_without_script(browser, address):
    watched = visit(browser, f"{address}/lag", PHONE, java_script_enabled=False)
    rows = "".join(f"2026-04-{day:02d} {hour:02d}:00,18.0\n" for day in range(15, 30) for hour in range(24))
    for content, said in (
        ("nonsense", "bay 2.csv"),
        (f"time,temperature (°C)\n{rows}", "logger file bay 2.csv"),
    ):
        file = {"name": "bay 2.csv", "mimeType": "text/csv", "buffer": content.encode()}
        watched.page.fill("#release", "2026-04-20")
        watched.page.set_input_files("#climate", files=[file])
        with watched.page.expect_navigation():
            watched.page.press("button.press", "Enter")
        assert said in watched.page.inner_text("main")
        assert watched.page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
        assert watched.page.get_by_role("alert").count() == (content == "nonsense")
    watched.page.context.close()


def test_the_keyboard_passes_the_fields_of_the_lag_form_in_their_order(browser, address):
    watched = visit(browser, f"{address}/lag", DESK)
    watched.page.focus("#form")
    passed = []
    for _ in range(6):
        watched.page.keyboard.press("Tab")
        passed.append(watched.page.evaluate("document.activeElement.id || document.activeElement.type"))
    assert passed == ["crop", "temperature", "swing", "house", "climate", "submit"]
    watched.page.context.close()


def test_the_keyboard_reaches_the_page_first_and_then_every_link(browser, address):
    watched = visit(browser, f"{address}/", DESK)
    watched.page.keyboard.press("Tab")
    assert watched.page.evaluate("document.activeElement.textContent") == "Skip to the page"
    watched.page.keyboard.press("Enter")
    assert watched.page.evaluate("document.activeElement.id") == "main"
    watched.page.keyboard.press("Tab")
    assert watched.page.evaluate("document.activeElement.closest('main') !== null")
    watched.page.context.close()


def test_the_order_message_is_copied_as_it_stands(browser, address, answers):
    watched = visit(browser, f"{address}/plan", DESK, permissions=["clipboard-read", "clipboard-write"])
    watched.page.click("button[data-copies]")
    watched.page.wait_for_selector("text=Copied")
    wanted = answers._give("order")["orders"][0]["text"]
    assert watched.page.evaluate("navigator.clipboard.readText()") == wanted
    watched.page.context.close()


@pytest.mark.parametrize(
    ("size", "scheme"), [(PHONE, "dark"), (DESK, "light")], ids=["phone, dark", "desk, light"]
)
def test_no_accessibility_rule_is_broken_where_more_is_asked_or_something_is_wrong(
    browser, address, size, scheme
):
    # Every page by itself is held to the rules in both lights and languages in `test_every_page.py`.
    broken = []
    for path in (*MORE_ASKED, "/house/attic", "/lag?enemy=aphidius_colemani&temperature=warm"):
        watched = visit(browser, address + path, size, color_scheme=scheme)
        watched.page.evaluate("document.querySelectorAll('details').forEach(item => { item.open = true })")
        broken += [(path, *fault) for fault in rules_broken(watched.page)]
        watched.page.context.close()
    assert broken == []


def test_a_rule_that_is_broken_is_found_with_every_element_that_breaks_it(browser, address):
    watched = visit(browser, f"{address}/", PHONE)
    assert rules_broken(watched.page) == []
    watched.page.evaluate(
        "for (const name of ['one', 'two']) { const image = document.createElement('img'); image.id = name;"
        " document.querySelector('main').append(image); }"
        "document.querySelector('h1').style.color = '#eee';"
    )
    found = rules_broken(watched.page)
    assert sorted(rule for rule, _ in found) == ["color-contrast", "image-alt", "image-alt"]
    # As the whole answer of the rules has it, what holds described too.
    whole = watched.page.evaluate("axe.run()")["violations"]
    assert sorted((fault["id"], node["html"][:120]) for fault in whole for node in fault["nodes"]) == sorted(
        found
    )
    watched.page.context.close()
