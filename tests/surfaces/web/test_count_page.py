"""The walk on a phone: taps counted, signal gone, browser killed, sent twice, and what then stands in the book."""

from __future__ import annotations

import os
import re
import signal
import socket
import threading
import time
import zipfile
from datetime import UTC, datetime, timedelta

import pytest
import uvicorn
from playwright.sync_api import sync_playwright
from tests.surfaces.web.chromium import FLAGS, PHONE

from outpace.records.store import Book
from outpace.season.photos import folder_of
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.app import create_app
from outpace.terms.place import Farm, House, Zone
from outpace.terms.scouting import Count, Mummies, Seen, Walk, WalkLine

pytestmark = pytest.mark.browser

FARM = Farm(farm="Invented", latitude=43.1, longitude=-8.2, time_zone="Europe/Madrid", currency="EUR")
HOUSES = (
    House(
        farm="Invented",
        house="south bay",
        crop="sweet_pepper",
        area_m2=200,
        plants=500,
        action_level=1.0,
        action_unit="plant",
    ),
    House(farm="Invented", house="long", crop="cucumber", area_m2=400, plants=700),
)
ZONES = (
    Zone(farm="Invented", house="long", zone="door"),
    Zone(farm="Invented", house="long", zone="back"),
)


class QuietAnswers(Answers):
    """Answers of a real book that do not begin the week by themselves."""

    async def begin(self) -> None:
        return


@pytest.fixture
def book(tmp_path):
    path = tmp_path / "farm.book"
    with Book.open(path, create=True) as opened:
        opened.record([FARM, *HOUSES, *ZONES], by="Ana")
    return path


@pytest.fixture
def address(book):
    opened = socket.socket()
    opened.bind(("127.0.0.1", 0))
    app = create_app(str(book), answers=QuietAnswers(str(book)))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [opened]})
    thread.start()
    deadline = time.monotonic() + 20
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{opened.getsockname()[1]}"
    server.should_exit = True
    thread.join(20)
    opened.close()


class Phone:
    """A page whose taps are counted."""

    def __init__(self, page) -> None:
        self.page = page
        self.taps = 0

    def tap(self, selector):
        self.page.locator(selector).first.click()
        self.taps += 1

    def title(self):
        return self.page.locator("h1:visible").inner_text()

    def walk(self, house):
        self.page.wait_for_selector(f'[data-do=begin][data-house="{house}"]')
        self.tap(f'[data-do=begin][data-house="{house}"]')
        self.page.wait_for_selector("#count:visible")

    def state(self):
        return self.page.inner_text('[data-fill="done-state"]')

    def wait_until_kept_offline(self):
        self.page.wait_for_function(
            "() => navigator.serviceWorker.ready.then(() => caches.keys()).then(all => all.length > 0)"
        )


@pytest.fixture(scope="module")
def playwright():
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="module")
def browser(playwright):
    started = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=list(FLAGS))
    yield started
    started.close()


@pytest.fixture
def phone(browser, address):
    context = browser.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, timezone_id="Europe/Madrid", accept_downloads=True
    )
    page = context.new_page()
    page.goto(f"{address}/count")
    yield Phone(page)
    context.close()


def told(book):
    with Book.open(book) as opened:
        assert opened.verify() == []
        return opened.snapshot()


def wait_for_queue(phone, words):
    """Wait until the list of walks on the phone says so; else tell what the page says instead."""
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        if words in phone.page.inner_text("#queue"):
            return
        phone.page.wait_for_timeout(100)
    raise AssertionError(phone.page.inner_text("main"))


def in_the_book(phone):
    phone.page.wait_for_function(
        "() => !document.getElementById('done').hidden &&"
        " document.querySelector('[data-fill=\"done-state\"]').textContent === 'in the book'"
    )


def test_twenty_clean_plants_take_at_most_22_taps_and_a_finding_at_most_4_more(phone, book):
    phone.walk("south bay")
    for _ in range(20):
        phone.tap("[data-do=clean]")
    phone.tap("[data-do=finish]")
    in_the_book(phone)
    assert phone.taps <= 22
    known = told(book)
    (walk,) = known.table(Walk)
    assert (walk.house, walk.unit, walk.chosen, walk.looked_at, walk.finished) == (
        "south bay",
        "plant",
        "random",
        20,
        True,
    )
    assert abs(walk.time - datetime.now(UTC)) < timedelta(minutes=5)
    counts = known.table(Count)
    assert [(row.unit_no, row.pest, row.aphids) for row in counts] == [(n, "any", "0") for n in range(1, 21)]
    # Mummies were looked for and none was there: each plant says so with a zero.
    assert [row.closed for row in known.table(Mummies)] == [0] * 20
    clean_taps = phone.taps

    phone.tap("#done [data-do=leave]")
    phone.taps = 0
    phone.walk("south bay")
    for _ in range(19):
        phone.tap("[data-do=clean]")
    phone.tap('[data-class="4to10"]')
    phone.tap('.tans [data-by="1"]')
    phone.tap('.tans [data-by="1"]')
    phone.tap("[data-do=next]")
    phone.tap("[data-do=finish]")
    in_the_book(phone)
    assert phone.taps - clean_taps <= 4
    found = [row for row in told(book).table(Count) if row.aphids != "0"]
    assert [(row.unit_no, row.pest, row.aphids) for row in found] == [(20, "unknown", "4to10")]
    assert sorted(row.closed for row in told(book).table(Mummies))[-1] == 2


def test_a_walk_goes_on_after_a_reload_without_signal_and_is_sent_when_it_is_back(phone, book):
    phone.wait_until_kept_offline()
    phone.walk("long")
    assert phone.page.locator('[data-list="zones"] button').all_inner_texts() == ["back", "door"]
    phone.tap('[data-zone="door"]')
    for _ in range(7):
        phone.tap("[data-do=clean]")
    phone.page.context.set_offline(True)
    phone.page.reload()
    phone.page.wait_for_selector("#count:visible")
    assert phone.title().startswith("Plant 8")
    phone.page.wait_for_function(
        "() => document.querySelector('[data-fill=\"eyebrow\"]').textContent.includes('of 7')"
    )
    phone.tap("[data-do=exact]")
    phone.page.fill("#exact-number", "37")
    phone.page.press("#exact-number", "Enter")
    phone.tap("[data-do=next]")
    phone.tap("[data-do=finish]")
    phone.page.wait_for_selector("#done:visible")
    assert phone.state() == "kept on this phone, not sent yet"
    assert told(book).table(Walk) == ()
    phone.page.context.set_offline(False)
    phone.page.reload()
    wait_for_queue(phone, "· in the book")
    counts = told(book).table(Count)
    assert [(row.unit_no, row.zone, row.aphids) for row in counts][-1] == (8, "door", "37")
    assert len(counts) == 8


def test_a_killed_browser_loses_at_most_one_tap(playwright, address, tmp_path):
    def launch():
        return playwright.chromium.launch_persistent_context(
            str(tmp_path / "profile"),
            executable_path="/usr/bin/chromium",
            args=list(FLAGS),
            viewport={"width": PHONE[0], "height": PHONE[1]},
        )

    def processes():
        found = []
        for name in os.listdir("/proc"):
            if name.isdigit():
                try:
                    with open(f"/proc/{name}/cmdline", "rb") as file:
                        if str(tmp_path / "profile").encode() in file.read():
                            found.append(int(name))
                except OSError:
                    continue
        return found

    context = launch()
    phone = Phone(context.pages[0])
    phone.page.goto(f"{address}/count")
    phone.walk("south bay")
    for _ in range(11):
        phone.tap("[data-do=clean]")
    killed = processes()
    assert killed
    for process in killed:
        os.kill(process, signal.SIGKILL)
    deadline = time.monotonic() + 20
    while processes() and time.monotonic() < deadline:
        time.sleep(0.05)
    context = launch()
    phone = Phone(context.pages[0])
    phone.page.goto(f"{address}/count")
    phone.page.wait_for_selector("#count:visible")
    kept = int(re.search(r"\d+", phone.title()).group()) - 1
    assert 10 <= kept <= 11
    context.close()


def test_a_walk_sent_again_changes_nothing_and_one_changed_after_sending_is_a_conflict_with_both_shown(
    phone, book, address
):
    phone.walk("south bay")
    phone.tap("[data-do=clean]")
    phone.tap("[data-do=finish]")
    in_the_book(phone)
    stored = "indexedDB.open('outpace')"
    change = f"""(state) => new Promise((done) => {{ const asked = {stored}; asked.onsuccess = () => {{
        const store = asked.result.transaction('walks', 'readwrite').objectStore('walks');
        store.getAll().onsuccess = (event) => {{
            const walk = event.target.result[0];
            if (state === 'other') walk.units[0].finds = {{ myzus_persicae: '12' }};
            walk.state = 'ready';
            store.put(walk).onsuccess = done;
        }}; }}; }})"""
    phone.page.evaluate(change, "same")
    phone.page.reload()
    wait_for_queue(phone, "· in the book")
    assert len(told(book).table(Count)) == 1
    phone.page.evaluate(change, "other")
    phone.page.reload()
    wait_for_queue(phone, "the book holds this walk with other content")
    assert "Both stay in the history" in phone.page.inner_text("#queue")
    assert [row.pest for row in told(book).table(Count)] == ["any"]
    phone.tap("[data-do=keep-mine]")
    wait_for_queue(phone, "· in the book")
    assert [(row.pest, row.aphids) for row in told(book).table(Count)] == [("myzus_persicae", "12")]


def test_a_worst_place_becomes_a_hunted_walk_beside_the_walk_that_counts(phone, book):
    phone.walk("south bay")
    phone.tap("[data-do=clean]")
    phone.tap('[data-class="over100"]')
    phone.page.locator("#count summary").click()
    phone.page.check("#spot")
    phone.page.select_option("#seen", "ants")
    phone.page.fill("#note", "=cmd|' /C calc'!A0")
    phone.page.set_input_files(
        "#photo",
        files=[{"name": "a.png", "mimeType": "image/png", "buffer": b"\x89PNG\r\n\x1a\n" + b"0" * 50}],
    )
    phone.page.wait_for_selector("text=1 kept with this unit")
    phone.tap("[data-do=next]")
    phone.tap("[data-do=finish]")
    in_the_book(phone)
    known = told(book)
    assert {walk.chosen: walk.looked_at for walk in known.table(Walk)} == {"random": 2, "hunted": 1}
    hunted = next(walk.walk for walk in known.table(Walk) if walk.chosen == "hunted")
    assert [row.aphids for row in known.table(Count) if row.walk == hunted] == ["over100"]
    assert {row.organism for row in known.table(Seen)} == {"ants"}
    note = next(row.note for row in known.table(Count) if row.note)
    assert note.startswith("=cmd|' /C calc'!A0; photo ")
    name = note.split()[-1]
    assert (folder_of(str(book)) / f"{name}.png").read_bytes().startswith(b"\x89PNG")


def test_a_saved_copy_comes_into_another_book(phone, book, tmp_path):
    phone.walk("south bay")
    for _ in range(3):
        phone.tap("[data-do=clean]")
    phone.tap("[data-do=finish]")
    in_the_book(phone)
    with phone.page.expect_download() as saved:
        phone.page.click("[data-do=save]")
    copy = tmp_path / "walk.zip"
    saved.value.save_as(copy)
    assert set(zipfile.ZipFile(copy).namelist()) == {"walks.csv", "counts.csv", "mummies.csv"}
    from outpace.season.keep import import_paths

    with Book.open(tmp_path / "other.book", create=True) as other:
        other.record([FARM, *HOUSES], by="Ana")
        assert import_paths(other, [copy], by="Ana")["conflicts"] == []
        assert other.snapshot().table(Count) == told(book).table(Count)


def test_a_house_told_in_one_line_and_what_cannot_be(phone, book):
    phone.page.wait_for_selector('[data-do=in-a-line][data-house="long"]')
    phone.tap('[data-do=in-a-line][data-house="long"]')
    for field, text in (("looked", "20"), ("infested", "24"), ("mummies", "3")):
        phone.page.fill(f"#line-{field}", text)
    phone.page.press("#line-mummies", "Enter")
    phone.page.wait_for_selector("text=more with aphids than were looked at")
    phone.page.fill("#line-infested", "4")
    phone.page.select_option("#line-pest", "myzus_persicae")
    phone.page.fill("#line-about", "60")
    phone.page.press("#line-about", "Enter")
    in_the_book(phone)
    (line,) = told(book).table(WalkLine)
    assert (line.pest, line.looked_at, line.infested, line.aphids_about, line.mummies_about) == (
        "myzus_persicae",
        20,
        4,
        60,
        3,
    )


def test_the_phone_stops_where_the_walks_plan_says(phone, book):
    from outpace.season.walk_plan import walk_plan

    rule = walk_plan(told(book), "south bay")["rules"][0]
    phone.walk("south bay")
    stop = phone.page.locator('[data-fill="stop"]')
    low, high = rule["low_at_or_under"], rule["high_at_or_over"]
    clean = next(
        number for number, limit in enumerate(low, rule["least"]) if limit is not None and limit >= 0
    )
    phone.page.wait_for_function(
        "() => document.querySelector('[data-fill=\"stop\"]').textContent !== ''", timeout=120_000
    )
    assert stop.inner_text() == f"{clean} more, if they are clean."
    for _ in range(clean):
        phone.tap("[data-do=clean]")
    assert stop.inner_text() == "You may stop: fewer than your level."
    phone.tap("[data-do=finish]")
    phone.tap("#done [data-do=leave]")
    phone.walk("south bay")
    for number in range(1, rule["most"] + 1):
        phone.tap('[data-class="31to100"]')
        phone.tap("[data-do=next]")
        if number >= rule["least"] and 31 * number >= (high[number - rule["least"]] or 10**9):
            break
    assert stop.inner_text() == "You may stop: more than your level."


def test_undo_takes_back_taps_and_then_plants(phone):
    phone.walk("south bay")
    phone.tap("[data-do=clean]")
    phone.tap('[data-class="1to3"]')
    phone.tap('[data-class="over100"]')
    phone.tap("[data-do=undo]")
    assert phone.page.get_attribute('[data-class="1to3"]', "aria-pressed") == "true"
    phone.tap("[data-do=undo]")
    assert phone.page.get_attribute('[data-class="1to3"]', "aria-pressed") == "false"
    phone.tap("[data-do=undo]")
    assert phone.title().startswith("Plant 1")


def test_what_is_tapped_while_walking_is_at_least_15_mm_high(phone):
    phone.walk("long")
    # Source: CSS Values and Units, 1in = 96px = 25.4 mm: 15 mm are 56.7 px.
    for height in phone.page.locator(".tap:visible").evaluate_all("all => all.map(e => e.offsetHeight)"):
        assert height >= 15 * 96 / 25.4
