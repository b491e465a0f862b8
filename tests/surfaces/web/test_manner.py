"""Pages in the language and units of who reads them; programs are answered in English."""

from __future__ import annotations

import re

import pytest

from outpace.language import Manner, manner
from outpace.surfaces.web.manner import COOKIE

SPANISH = {"accept-language": "es-MX,es;q=0.9,en;q=0.5"}


def language_of(page: str) -> str:
    found = re.search(r'<html lang="([^"]+)" dir="([^"]+)"', page)
    assert found
    return f"{found.group(1)} {found.group(2)}"


def test_a_page_speaks_as_the_browser_asks_and_says_who_translated(client):
    page = client.get("/facts", headers=SPANISH).text
    assert language_of(page) == "es ltr"
    assert "aún no revisada" in page
    english = client.get("/facts").text
    assert language_of(english) == "en ltr"
    assert "machine-made" not in english


def test_what_a_reader_chose_comes_before_what_the_browser_asks(client):
    told = client.post(
        "/language", data={"language": "es"}, params={"back": "/facts"}, follow_redirects=False
    )
    assert told.status_code == 303
    assert told.headers["location"] == "/facts"
    assert COOKIE in told.cookies
    assert language_of(client.get("/facts").text) == "es ltr"
    client.post("/language", data={"language": "en"}, follow_redirects=False)
    assert language_of(client.get("/facts", headers=SPANISH).text) == "en ltr"


@pytest.mark.parametrize("back", ["//elsewhere.example", "/\\elsewhere.example", "https://elsewhere.example"])
def test_the_choice_of_a_language_never_leads_to_another_site(client, back):
    told = client.post("/language", data={"language": "es"}, params={"back": back}, follow_redirects=False)
    assert told.headers["location"] == "/"


def test_one_request_may_be_told_in_another_language_without_keeping_it(client):
    assert language_of(client.get("/facts?lang=es").text) == "es ltr"
    assert language_of(client.get("/facts").text) == "en ltr"


def test_programs_hear_english_unless_they_ask_otherwise(client, answers):
    async def heard(asked):
        return {"farm": manner().language}

    answers.week = heard
    assert client.get("/api/week", headers=SPANISH).json() == {"farm": "en"}
    assert client.get("/api/week?lang=es").json() == {"farm": "es"}


def test_an_answer_is_worked_out_in_the_manner_of_who_asks(tmp_path):
    import asyncio

    from outpace.language import mannered
    from outpace.surfaces.web.answers import Answers

    answers = Answers("no such book")
    told = Manner(language="es", decimal=",", weeks="us")

    async def ask():
        with mannered(told):
            return await answers._told_by(answers._heavy, manner)

    try:
        assert asyncio.run(ask()) == told
    finally:
        answers.close()


def test_an_error_is_told_in_the_language_of_the_page(client):
    assert "aquí no hay ninguna página" in client.get("/nowhere", headers=SPANISH).text


def test_the_page_kept_for_the_times_without_signal_is_kept_anew_in_another_language(client):
    versions = {client.get("/sw.js", headers=headers).text.split('"')[3] for headers in ({}, SPANISH)}
    assert len(versions) == 2
