"""The key on the page: with script, without, and what the walk makes of the name."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html import unescape

import pytest
from playwright.sync_api import Browser
from tests.surfaces.web.chromium import PHONE
from tests.surfaces.web.conftest import example
from tests.surfaces.web.served import chromium, served, visit

from outpace.surfaces import lens_drawings
from outpace.surfaces.web.app import create_app
from outpace.surfaces.web.species_key_page import features, states

QUERIES = (
    "",
    "tubes=dark",
    "tubes=dark&tail=dark&colour=black",
    "brow=outward&shape=large",
    "brow=inward&feelers=ringed",
    "place=low",
)


@pytest.fixture
def address(answers) -> Iterator[str]:
    with served(create_app("no such book", answers=answers)) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


def heading(html: str) -> str:
    return unescape(re.search(r'<h1 id="said">(.*?)</h1>', html).group(1))


def shown(html: str) -> list[str]:
    return re.findall(r'<li data-(?:species|enemy)="(\w+)"[^>]*?(?<! hidden)>', html)


def test_every_state_that_the_books_tell_has_words_and_a_drawing():
    told = {(name, state) for name, found in features().items() for state in found}
    assert told == set(states())
    drawings = {lens_drawings.feature(name, state, "drawn") for name, state in told}
    assert len(drawings) == len(told)
    assert all("<title>drawn</title>" in drawing and "style=" not in drawing for drawing in drawings)


def test_the_top_says_what_to_do_next(client):
    assert heading(client.get("/species-key").text).startswith("Look at a wingless adult")
    assert "look next at" in heading(client.get("/species-key?tubes=dark").text)
    assert "Macrosiphum euphorbiae" in heading(client.get("/species-key?brow=outward&back=stripe").text)
    assert heading(client.get("/species-key?brow=inward&feelers=ringed").text).startswith("Send a sample")


def test_an_answer_that_is_none_of_the_page_is_told(client):
    response = client.get("/species-key?tubes=blue")
    assert response.status_code in (400, 404)
    assert "pale" in response.text


def test_the_phone_keeps_the_key_for_the_times_without_signal(client):
    kept = json.loads(client.get("/sw.js").text.partition("= ")[2].partition(";\n")[0])
    assert "/species-key" in kept["pages"]
    assert any("lens/key.js" in name for name in kept["files"])


@pytest.mark.browser
@pytest.mark.parametrize("query", QUERIES)
def test_the_script_answers_as_the_server_does(browser, address, client, query):
    # Without signal the page comes from the phone's store, without its answers: the script sets and weighs them.
    served_answer = client.get(f"/species-key?{query}").text
    watched = visit(browser, f"{address}/species-key", PHONE)
    for part in filter(None, query.split("&")):
        watched.page.check("#" + part.replace("=", "-"))
    assert watched.page.inner_text("#said") == heading(served_answer)
    seen = watched.page.evaluate(
        "[...document.querySelectorAll('li[data-species], li[data-enemy]')].filter(i => !i.hidden)"
        ".map(i => i.dataset.species || i.dataset.enemy)"
    )
    assert seen == shown(served_answer)
    assert watched.faults == []
    watched.page.reload()
    assert watched.page.inner_text("#said") == heading(served_answer)
    watched.page.context.close()


@pytest.mark.browser
def test_without_script_the_form_answers_and_keeps_what_was_said(browser, address):
    watched = visit(browser, f"{address}/species-key", PHONE, java_script_enabled=False)
    watched.page.check("#brow-outward")
    watched.page.check("#shape-large")
    watched.page.click("text=What fits?")
    watched.page.wait_for_load_state()
    assert "look next at" in watched.page.inner_text("h1")
    assert watched.page.is_checked("#brow-outward")
    watched.page.context.close()


@pytest.mark.browser
def test_the_walk_counts_by_the_name_that_the_key_found(browser, address, answers):
    kit = example("walk_kit")
    potato = {"key": "macrosiphum_euphorbiae", "latin": "Macrosiphum euphorbiae", "english": "potato aphid"}
    answers.given["walk_kit"] = {**kit, "pests": [*kit["pests"], potato]}
    watched = visit(browser, f"{address}/count", PHONE)
    watched.page.click("button.house-go")
    watched.page.wait_for_selector("#count:visible")
    watched.page.click("text=Which aphid is it?")
    watched.page.check("#brow-outward")
    watched.page.check("#back-stripe")
    watched.page.click("text=Count it by this name >> visible=true")
    pressed = '[data-list="pests"] [aria-pressed="true"]'
    watched.page.wait_for_selector(pressed)
    assert "potato aphid" in watched.page.inner_text(pressed)
    assert "named" not in watched.page.url
    watched.page.context.close()
