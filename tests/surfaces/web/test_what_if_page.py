"""The what-if strip: asked from the page of a house, answered beside today's, with script and without."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser
from tests.surfaces.web.chromium import PHONE
from tests.surfaces.web.conftest import example
from tests.surfaces.web.served import chromium, served, visit

from outpace.surfaces.web import what_if_page
from outpace.surfaces.web.app import create_app
from outpace.surfaces.web.what_if_view import NAMES


def told(**given: str) -> dict[str, str]:
    return {**dict.fromkeys(NAMES, ""), **given}


def test_the_page_of_a_house_asks_in_a_form_that_works_without_script(client):
    page = client.get("/house/south").text
    form = re.search(
        r'<form action="([^"]+)" method="get" class="ask form" data-whatif.*?</form>', page, re.S
    )
    assert form.group(1) == "/house/south/whatif"
    for name in ("warmer", "number", "enemy", "on", "spray"):
        assert f'name="{name}"' in form.group()


def test_the_answer_stands_beside_what_is_foreseen_and_says_that_it_is_no_plan(client):
    page = client.get("/house/south/whatif?warmer=-3").text
    said = html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\u00a0", " ")
    answer = example("whatif")
    assert answer["sentence"] in said
    assert "A what-if is no plan" in said
    pest = answer["pests"][0]
    for side in ("now", "then"):
        assert f"{100 * pest[side]['chance_ever_above']:.0f} %" in said
        assert pest[side]["word"] in said
    assert 'class="beside"' in page


def test_what_is_asked_is_read_as_the_season_takes_it():
    found = what_if_page.read(
        told(
            warmer="-3",
            times="0.5",
            later="7",
            number="500",
            enemy="aphidius_ervi",
            spray="yes",
            kill_aphids="90",
        )
    )
    assert found["warmer"] == -3.0
    assert (found["times"], found["later_d"], found["number"]) == (0.5, 7, 500)
    assert found["spray"] == {"kill_aphids": 0.9, "kill_enemies": None}
    assert what_if_page.read(told()) == {}


@pytest.mark.parametrize(
    "asked", ["number=many", "number=1.5", "spray=yes&kill_aphids=120", "number=5&on=someday"]
)
def test_what_cannot_be_read_is_said_and_what_was_typed_stays(client, asked):
    response = client.get(f"/house/south/whatif?{asked}")
    assert response.status_code == 422
    assert 'role="alert"' in response.text
    name, _, value = asked.split("&")[0].partition("=")
    assert f'name="{name}"' in response.text
    assert f'value="{value}"' in response.text


def test_degrees_are_asked_in_the_readers_own(client):
    page = client.get("/house/south/whatif?units=degf+ft2&warmer=5").text
    assert "5 °F warmer" in page.replace("\u00a0", " ")
    assert '<option value="5" selected>' in page


def test_programs_are_answered_as_json(client):
    assert client.get("/api/whatif/south?warmer=3").json() == example("whatif")


def test_todays_density_stands_by_every_unit(client):
    page = client.get("/house/south").text
    assert "Today per leaf, shoot, plant and m²" in page


@pytest.fixture
def address(answers) -> Iterator[str]:
    with served(create_app("no such book", answers=answers)) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


@pytest.mark.browser
def test_with_script_the_answer_comes_into_the_page_of_the_house_from_the_keyboard(browser, address):
    watched = visit(browser, f"{address}/house/south", PHONE)
    page = watched.page
    page.select_option("#if-warmer", "3")
    page.press("form[data-whatif] button", "Enter")
    page.wait_for_selector("#whatif-answer table")
    assert page.url == f"{address}/house/south"
    assert page.inner_text("#whatif-answer .sentence").replace("\u00a0", " ") == example("whatif")["sentence"]
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
    watched.page.context.close()
    assert watched.faults == []


@pytest.mark.browser
def test_without_script_the_same_form_opens_a_page_with_the_answer(browser, address):
    watched = visit(browser, f"{address}/house/south", PHONE, java_script_enabled=False)
    with watched.page.expect_navigation():
        watched.page.press("form[data-whatif] button", "Enter")
    assert "/house/south/whatif" in watched.page.url
    assert watched.page.inner_text("h1").replace("\u00a0", " ") == example("whatif")["sentence"]
    watched.page.context.close()


@pytest.mark.browser
def test_without_signal_the_strip_says_so(browser, address):
    watched = visit(browser, f"{address}/house/south", PHONE)
    watched.page.context.set_offline(True)
    watched.page.press("form[data-whatif] button", "Enter")
    watched.page.wait_for_function(
        "document.getElementById('whatif-answer').textContent.includes('No signal')"
    )
    watched.page.context.close()
