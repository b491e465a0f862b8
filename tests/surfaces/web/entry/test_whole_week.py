"""The whole week in a real browser: from an empty book to a printed sheet, set up at a desk and walked with a phone."""

from __future__ import annotations

import re
import socket
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import Browser, Page, sync_playwright
from tests.surfaces.web.chromium import DESK, FLAGS, PHONE
from tests.surfaces.web.conftest import example
from tests.surfaces.web.served import rules_broken

from outpace.season.open_book import open_book
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.app import create_app
from outpace.surfaces.web.asking import Asked
from outpace.terms.enemies import Check, Lot, OrderLine, Release
from outpace.terms.place import Climate
from outpace.terms.scouting import Walk

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NOW = datetime.now(UTC)
FORMS = ("farm", "house", "arrival", "release", "spray", "pack")
PAGES = (
    "/start",
    "/enter",
    "/climate",
    "/arrivals",
    "/sprays",
    "/plants",
    "/settings",
    "/money",
    "/book",
    "/more",
)


class GivenPlan(Answers):
    """Answers of a real book whose plan is given: what a plan buys hangs on the day of the year."""

    async def begin(self) -> None:
        return

    async def plan(self, asked: Asked, budget: float | None = None) -> dict[str, Any]:
        return example("plan")

    async def order(self, asked: Asked, budget: float | None = None) -> dict[str, Any]:
        release = (NOW + timedelta(days=3)).date().isoformat()
        line = {"enemy": "aphidius_colemani", "form": "mummies", "packs": 2, "pack_size": 250, "price": 36.0}
        line["houses"] = [{"house": "Long", "zone": None, "number": 500, "release_date": release}]
        one = {"supplier": "By Post", "cutoff": f"{NOW + timedelta(days=1):%Y-%m-%dT23:59}", "lines": [line]}
        one |= {
            "delivery_date": release,
            "freight": 9.0,
            "total": 45.0,
            "currency": "GBP",
            "provisional": False,
        }
        return {**example("order"), "orders": [{**one, "text": "Please send 2 packs."}]}


@pytest.fixture
def address(tmp_path) -> Iterator[str]:
    url = str(tmp_path / "own.book")
    open_book(url, create=True).close()
    opened = socket.socket()
    opened.bind(("127.0.0.1", 0))
    app = create_app(url, answers=GivenPlan(url))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [opened]})
    thread.start()
    deadline = time.monotonic() + 60
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{opened.getsockname()[1]}"
    server.should_exit = True
    thread.join(60)
    opened.close()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=list(FLAGS))
        yield started
        started.close()


class Hand:
    """Someone at one screen; what the browser complains of is written down."""

    def __init__(self, browser: Browser, address: str, size: tuple[int, int], **options: object) -> None:
        self.context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **options)
        self.page: Page = self.context.new_page()
        self.page.set_default_timeout(30_000)
        self.address = address
        self.faults: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("console", self._hear)

    def _hear(self, said: Any) -> None:
        # A page that is still being worked out answers 503, says so and comes back by itself.
        if said.type in ("error", "warning") and "503" not in said.text:
            self.faults.append(said.text)

    def go(self, path: str) -> str:
        self.page.goto(self.address + path)
        self.page.wait_for_selector("h1:not(:has-text('Wait 1 moment'))", timeout=400_000)
        return self.said()

    def said(self) -> str:
        return " ".join(self.page.inner_text("main").split())

    def fill(self, path: str | None, **told: str) -> str:
        """Fill in the fields of a form and press its button."""
        if path is not None:
            self.go(path)
        for name, value in told.items():
            fields = self.page.locator(f"main [name={name}]")
            kind = fields.first.evaluate("field => field.type")
            if kind in ("radio", "checkbox"):
                for each in value.split():
                    self.page.locator(f"main [name={name}][value='{each}']").check()
            elif kind == "select-one":
                fields.first.select_option(value)
            else:
                fields.first.fill(value)
        with self.page.expect_navigation():
            self.page.locator("main form button.press").first.click()
        return self.said()


def logger_file() -> bytes:
    """Return three weeks of an invented logger, warm by day."""
    hours = [NOW - timedelta(hours=n) for n in range(21 * 24, 1, -1)]
    rows = [f"{when:%Y-%m-%d %H}:00;{15 + 8 * (8 <= when.hour < 18):.1f}" for when in hours]
    return ("time (UTC);temperature (°C)\n" + "\n".join(rows)).encode()


def known(tmp_path):
    with open_book(str(tmp_path / "own.book")) as book:
        return book.snapshot()


def test_the_whole_week_from_an_empty_book_to_a_printed_sheet(browser, address, tmp_path):
    desk = Hand(browser, address, DESK)
    assert "next: Your farm" in desk.go("/")
    desk.page.click("text=Tell of the farm")
    desk.fill(None, name="Kelp Lane", town="Europe/London", currency="GBP", by="Ida")
    desk.page.click("text=Tell of a house")
    house = {
        "name": "Long",
        "crop": "sweet pepper",
        "length": "30",
        "width": "8",
        "rows": "8",
        "spacing": "46",
    }
    assert "240 m²" in desk.fill(None, **house, costs="sticky fruit")
    desk.page.click("text=Bring its temperatures")
    desk.page.set_input_files(
        "#file", files=[{"name": "bay.csv", "mimeType": "text/csv", "buffer": logger_file()}]
    )
    assert "Ready to import" in desk.fill(None)
    assert "readings" in desk.fill(None)
    assert len(known(tmp_path).table(Climate)) > 400
    cutoff = NOW + timedelta(days=1)
    pack = {"supplier": "By Post", "enemy": "aphidius_colemani", "form": "mummies", "pack_size": "250"}
    pack |= {"price": "18", "freight": "9", "cutoff_weekday": f"{cutoff:%a}", "cutoff_time": "23:59"}
    desk.fill(
        "/enter/pack", **pack, delivery_weekday=f"{NOW + timedelta(days=3):%a}", label_counts="units_in_pack"
    )
    earlier = "30 looked at, 1 with green peach aphid, about 2"
    desk.fill("/enter/walk", line=earlier, on=f"{NOW - timedelta(days=7):%Y-%m-%dT09:00}")

    phone = Hand(browser, address, PHONE, has_touch=True, is_mobile=True)
    phone.page.goto(f"{address}/count")
    phone.page.locator('[data-do=begin][data-house="Long"]').click()
    phone.page.wait_for_selector("#count:visible")
    for plant in range(20):
        if plant in (3, 11):
            phone.page.locator('[data-class="1to3"]').click()
            phone.page.locator("[data-do=next]").click()
        else:
            phone.page.locator("[data-do=clean]").click()
    phone.page.locator("[data-do=finish]").click()
    phone.page.wait_for_selector("#done:visible")
    deadline = time.monotonic() + 60
    while len(known(tmp_path).table(Walk)) < 2 and time.monotonic() < deadline:
        time.sleep(0.2)
    assert max(known(tmp_path).table(Walk), key=lambda walk: walk.time).looked_at == 20

    week = phone.go("/")
    assert re.search(r"Holding|Unclear|Losing", week)
    plan = phone.go("/plan")
    assert "Accept: write 1 order down as placed" in plan
    sent = phone.fill(None, by="Ida")
    assert "send its message now" in sent
    assert "Please send 2 packs." in sent
    (line,) = known(tmp_path).table(OrderLine)
    assert (line.status, line.enemy) == ("placed", "aphidius_colemani")

    phone.go("/arrivals")
    phone.page.click("text=This one came")
    assert "arrived" in phone.fill(None, lot="L-7", label_counts="units_in_pack", packed=f"{NOW:%Y-%m-%d}")
    (lot,) = known(tmp_path).table(Lot)
    assert (lot.order, lot.labelled_number) == (line.order, line.packs * line.pack_size)
    assert "neither pass nor reject" in phone.fill("/enter/check?lot=L-7", looked_at="40", emerged="3")
    assert known(tmp_path).table(Check)[0].positive == 3
    phone.go("/arrivals")
    phone.page.locator("section.slip a", has_text=re.compile("^Let go$")).click()
    assert "released as mummies" in phone.fill(None, points="12")
    (release,) = known(tmp_path).table(Release)
    assert (release.house, release.lot, release.points) == ("Long", "L-7", 12)
    sheet = phone.context.request.get(f"{address}/house/Long/sheet.pdf", timeout=120_000)
    assert sheet.body().startswith(b"%PDF")
    assert (desk.faults, phone.faults) == ([], [])
    no_rule_is_broken(browser, address)


def no_rule_is_broken(browser: Browser, address: str) -> None:
    """Check every page of entries for rules of access, for scrolling sideways and for small things to tap."""
    paths = [*PAGES, *(f"/enter/{form}" for form in FORMS)]
    for size, scheme, options in (
        (PHONE, "dark", {"has_touch": True, "is_mobile": True}),
        (DESK, "light", {}),
    ):
        hand = Hand(browser, address, size, color_scheme=scheme, **options)
        for path in paths:
            hand.go(path)
            hand.page.evaluate("document.querySelectorAll('details').forEach(item => { item.open = true })")
            assert hand.page.evaluate("document.documentElement.scrollWidth") <= size[0], path
            assert rules_broken(hand.page) == [], path
            if size == PHONE:
                # 15 mm on a phone of 360 px and 66 mm width are 57 px or more at its usual scale.
                heights = hand.page.evaluate(
                    "[...document.querySelectorAll('main form .press, main form select, main .pick, .doors a')]"
                    ".map(each => each.offsetHeight).filter(height => height)"
                )
                assert all(height >= 57 for height in heights), path
        assert hand.faults == []
        hand.context.close()


def test_a_form_is_filled_in_and_mended_from_the_keyboard_without_script(browser, address):
    hand = Hand(browser, address, DESK, java_script_enabled=False)
    hand.go("/enter/farm")
    hand.page.focus("#name")
    passed = ["name"]
    for _ in range(6):
        hand.page.keyboard.press("Tab")
        passed.append(hand.page.locator(":focus").get_attribute("id") or "more")
    assert passed == ["name", "town", "latitude", "longitude", "currency", "by", "more"]
    hand.page.focus("#name")
    hand.page.keyboard.type("Kelp Lane")
    with hand.page.expect_navigation():
        hand.page.keyboard.press("Enter")
    assert "To mend: 2" in hand.said()
    assert hand.page.input_value("#name") == "Kelp Lane"
    links = hand.page.locator("#mend a").evaluate_all("all => all.map(each => each.getAttribute('href'))")
    assert links == ["#currency", "#by"]
    assert all(first != second for first, second in pairwise(links))
    hand.context.close()
