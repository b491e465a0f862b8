"""Charts that zoom: numbers, table and picture behind them, fingers on a phone, and what a reader of the page hears."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser
from tests.surfaces.web.chromium import NARROWEST, PHONE
from tests.surfaces.web.conftest import example
from tests.surfaces.web.served import chromium, rules_broken, served, visit

from outpace.surfaces.chart_rows import days_table
from outpace.surfaces.web.app import create_app


@pytest.fixture
def address(answers) -> Iterator[str]:
    with served(create_app("no such book", answers=answers)) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


def test_the_numbers_of_a_chart_are_those_of_the_answer(client):
    told = client.get("/house/south/chart.json").json()
    pest = example("ahead")["pests"][0]
    for day in pest["days"]:
        at = told["days"].index(day["date"])
        assert told["aphids"]["q95"][at] == day["aphids"]["q95"]
        assert told["chance"][at] == day["chance_above_that_day"]
    assert told["days"] == sorted(set(told["days"]))
    assert told["level"] == pest["action_level"]
    assert client.get("/house/south/chart.json?pest=99").status_code == 404


def test_the_table_to_take_along_holds_every_day_and_no_formula(client):
    rows = list(csv.DictReader(io.StringIO(client.get("/house/south/days.csv").text)))
    pest = example("ahead")["pests"][0]
    ahead = [row for row in rows if row["pest"] == pest["pest"] and row["forecast"] in ("ahead", "scenario")]
    assert [float(row["aphids_q50"]) for row in ahead] == pytest.approx(
        [d["aphids"]["q50"] for d in pest["days"]]
    )
    assert {row["forecast"] for row in ahead} == {"ahead", "scenario"}
    assert days_table({**example("ahead"), "house": "=cmd()"}).splitlines()[1].startswith("'=cmd()")


def test_the_picture_stands_alone_and_tells_its_house(client):
    response = client.get("/house/south/chart.svg?kind=mummies")
    assert response.headers["content-type"].startswith("image/svg+xml")
    assert "south: Closed mummies" in response.text
    assert client.get("/house/south/chart.svg?kind=other").status_code == 422


@pytest.mark.browser
def test_what_zooms_is_fetched_on_a_tap_only_and_hidden_from_those_who_hear(browser, address):
    watched = visit(browser, f"{address}/house/south", PHONE)
    asked: list[str] = []
    watched.page.on("request", lambda request: asked.append(request.url))
    assert not watched.page.evaluate("'uPlot' in window")
    watched.page.click("[data-zooms] >> nth=0")
    watched.page.wait_for_selector(".zoomed canvas")
    assert any("uPlot.js" in url for url in asked)
    assert watched.page.evaluate("document.querySelector('canvas').closest('[aria-hidden=true]') !== null")
    assert not watched.page.locator(".is-zoomed figure").first.is_visible()
    watched.page.click("text=A day on")
    assert "nine in ten" in watched.page.inner_text(".reading")
    assert rules_broken(watched.page) == []
    with watched.page.expect_download() as kept:
        watched.page.click("text=Save as a picture")
    assert kept.value.suggested_filename == "chart.png"
    watched.page.click('.zoomed >> text="Close"')
    assert watched.page.locator("svg.chart:visible").count() > 0
    assert watched.faults == []
    watched.page.context.close()


@pytest.mark.browser
def test_two_fingers_stretch_the_time_and_a_tap_reads_its_day(browser, address):
    watched = visit(browser, f"{address}/house/south", NARROWEST, has_touch=True)
    page = watched.page
    page.click("[data-zooms] >> nth=0")
    page.wait_for_selector(".zoomed canvas")
    page.locator(".u-over").first.scroll_into_view_if_needed()
    labels = "[...document.querySelectorAll('.reading')].map(e => e.textContent)[0]"
    box = page.locator(".u-over").first.bounding_box()
    middle, high = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    speak = page.context.new_cdp_session(page)

    def touch(kind: str, *places: float) -> None:
        points = [{"x": x, "y": high, "id": n} for n, x in enumerate(places)]
        speak.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def day_at(x: float) -> str:
        page.mouse.move(x, high)
        page.wait_for_timeout(60)
        return str(page.evaluate(labels)).split(".")[0]

    before = [day_at(middle - 60), day_at(middle + 60)]
    touch("touchStart", middle - 20, middle + 20)
    for step in range(1, 7):
        touch("touchMove", middle - 20 - 10 * step, middle + 20 + 10 * step)
    touch("touchEnd")
    after = [day_at(middle - 60), day_at(middle + 60)]
    assert before != after
    touch("touchStart", middle)
    touch("touchEnd")
    assert page.evaluate("document.documentElement.scrollWidth") <= NARROWEST[0]
    assert watched.faults == []
    page.context.close()
