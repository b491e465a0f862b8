"""The lag page answers as the command does: by mean temperature, by a house, by a logger's file."""

from __future__ import annotations

import json
import re
import tempfile
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient
from tests.surfaces.web.test_pages import LAG, Page

from outpace.season.open_book import open_book
from outpace.surfaces.cli.main import outcome
from outpace.surfaces.web import lag_page
from outpace.surfaces.web.app import create_app
from outpace.terms.place import Climate, Farm, House

ASKED = {"enemy": "aphidius_colemani", "pest": "myzus_persicae", "release": "2026-04-20"}
QUERY = "&".join(f"{key}={value}" for key, value in ASKED.items())


def logger_lines(days: int = 30) -> str:
    """Return a made-up logger's table, two degrees either side of 20 °C."""
    first = datetime(2026, 4, 15)
    hours = [first + timedelta(hours=number) for number in range(24 * days)]
    rows = [f"{hour:%Y-%m-%d %H:%M},{18 + 4 * (8 <= hour.hour < 20):.1f}" for hour in hours]
    return "\n".join(["time,temperature (°C)", *rows]) + "\n"


def send(client, content: bytes | str, name: str = "bay 2.csv", **fields: str):
    told = content.encode() if isinstance(content, str) else content
    return client.post("/lag", data={**ASKED, **fields}, files={"climate": (name, told, "text/csv")})


@pytest.fixture
def book_url(tmp_path) -> str:
    url = str(tmp_path / "book.db")
    farm = Farm(farm="cove", latitude=50.0, longitude=0.0, time_zone="UTC", currency="EUR")
    houses = [
        House(farm="cove", house=name, crop="sweet_pepper", area_m2=100.0, plants=200)
        for name in ("north", "south")
    ]
    first = datetime(2026, 4, 15, tzinfo=UTC)
    warm = [
        Climate(farm="cove", house="south", source="logger", place="canopy", time=first + timedelta(hours=hour),
                temperature_degc=24.0)
        for hour in range(24 * 30)
    ]  # fmt: skip
    with open_book(url, create=True) as book:
        book.record([farm, *houses, *warm], by="tester")
    return url


@pytest.fixture
def with_book(book_url) -> TestClient:
    return TestClient(create_app(book_url), base_url="http://localhost", client=("127.0.0.1", 50000))


@pytest.fixture
def without_book(tmp_path) -> TestClient:
    app = create_app(str(tmp_path / "no such.book"))
    return TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000))


def fields(response) -> dict[str, dict[str, str]]:
    page = Page(response.text)
    return {field["name"]: field for tag in ("input", "select") for field in page.all(tag)}


def test_the_page_answers_without_a_book_and_keeps_what_was_asked(without_book):
    response = without_book.get(LAG)
    page = Page(response.text)
    assert "First mummies" in page.words
    assert "Next brood flies" in page.words
    assert fields(response)["temperature"]["value"] == "18"
    chosen = {option["value"] for option in page.all("option") if "selected" in option}
    assert {"aphidius_colemani", "myzus_persicae", "mummies"} <= chosen


def test_a_house_can_be_chosen_only_where_the_book_has_one(with_book, without_book):
    assert "house" not in fields(without_book.get("/lag"))
    response = with_book.get("/lag")
    assert "house" in fields(response)
    assert {"north", "south"} <= {option["value"] for option in Page(response.text).all("option")}


@pytest.mark.parametrize("more", [{"temperature": "17,5"}, {"temperature": "64F", "swing": "9", "crop": "cucumber"},
                                  {"house": "south"}])  # fmt: skip
def test_the_answer_is_that_of_the_command(with_book, book_url, capsys, more):
    options = [
        word for key, value in {**ASKED, **more}.items() for word in (f"--{key}", value.replace(",", "."))
    ]
    assert outcome(["lag", *options, "--json", "--book", book_url]) == 0
    printed = capsys.readouterr().out
    answer = with_book.get("/api/lag", params={**ASKED, **more})
    assert answer.status_code == 200
    assert answer.json() == json.loads(printed)


def test_the_temperatures_of_a_house_are_its_own(with_book):
    response = with_book.get(f"/lag?{QUERY}&house=south")
    page = Page(response.text)
    assert response.status_code == 200
    stated = page.words[page.words.index("Temperature in the crop:") :]
    assert re.match(r"Temperature in the crop: 24 .*°C.*, south, ", stated), stated[:120]
    assert {"south", "aphidius_colemani"} <= {o["value"] for o in page.all("option") if "selected" in o}


def test_a_file_is_read_and_answered_as_the_command_does(without_book, tmp_path, capsys):
    response = send(without_book, logger_lines())
    assert response.status_code == 200
    words = Page(response.text).words
    assert "logger file bay 2.csv" in words
    path = tmp_path / "bay 2.csv"
    path.write_text(logger_lines())
    options = [word for key, value in ASKED.items() for word in (f"--{key}", value)]
    assert outcome(["lag", *options, "--climate", str(path)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    sentence = " ".join(
        Page(response.text).words.split("next brood ", 1)[1].split(" Released wasp")[0].split()
    )
    assert sentence in said


def test_a_file_is_not_kept(without_book, tmp_path, monkeypatch):
    place = tmp_path / "temporary"
    place.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    assert send(without_book, logger_lines()).status_code == 200
    assert send(without_book, "nonsense").status_code == 422
    assert list(place.iterdir()) == []


@pytest.mark.parametrize(
    ("content", "parts"),
    [
        (b"PK\x03\x04" + bytes(200), ("bay 2.csv", "this workbook is damaged", "What to do: save it again")),
        ("", ("bay 2.csv", "the file is empty", "What to do: export the readings again")),
        ("time,temperature\n2026-04-20 00:00,78.4\n", ("bay 2.csv",)),
        (
            logger_lines().replace("2026-", "2019-"),
            ("bay 2.csv", "no temperature near 2026-04-20", "What to do: "),
        ),
    ],
)
def test_a_refused_file_says_what_is_wrong_where_and_what_to_do(without_book, content, parts):
    response = send(without_book, content)
    page = Page(response.text)
    assert response.status_code == 422
    assert [part for part in parts if part not in page.words] == []
    assert [field["role"] for field in page.all("div") if field.get("role") == "alert"] == ["alert"]
    # What was asked beside it is kept.
    assert fields(response)["release"]["value"] == "2026-04-20"
    assert "outpace-" not in page.words


def test_a_file_about_which_a_question_is_open_leads_to_the_command_that_can_be_answered(without_book):
    response = send(
        without_book, "time,temperature\n" + "".join(f"0{d}/04/2026 10:00,18.0\n" for d in range(1, 9))
    )
    words = Page(response.text).words
    assert response.status_code == 422
    assert "Such options belong to outpace climate import" in words


def test_a_file_too_large_is_refused_with_its_size_and_the_limit(without_book, monkeypatch):
    monkeypatch.setattr(lag_page, "LARGEST_BYTES", 2_000_000)
    response = send(without_book, b"x" * 3_000_000)
    words = Page(response.text).words
    assert response.status_code == 413
    assert "logger's file: 3 MB" in words
    assert "at most 2 MB" in words


def test_a_file_of_untold_size_is_refused(without_book):
    response = without_book.post("/lag", content=iter([b"x" * 10]), headers={"content-type": "text/plain"})
    assert response.status_code == 413
    assert "a file of untold size" in Page(response.text).words


@pytest.mark.parametrize(
    ("name", "shown"), [("../../etc/<b>passwd", "_b_passwd"), ("C:\\data\\x.csv", "x.csv"), ("..", "logger.csv"),
                        ("a" * 300 + ".csv", "a.csv")]
)  # fmt: skip
def test_the_name_of_a_file_stays_a_name(without_book, name, shown):
    response = send(without_book, "nonsense", name=name)
    page = Page(response.text)
    assert response.status_code == 422
    assert shown in page.words
    assert page.all("b") == []


def test_a_form_without_a_file_gets_an_address_of_its_own(with_book):
    response = send(with_book, b"", name="", temperature="18", farm="cove", swing="")
    assert response.url.path == "/lag"
    assert dict(response.url.params) == {**ASKED, "temperature": "18", "farm": "cove"}
    assert response.status_code == 200


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"temperature": "warm"}, "warm"),
        ({"temperature": ""}, "no temperature was told"),
        ({"temperature": "18", "house": "south"}, "temperature and house were told"),
        ({"temperature": "18", "release": "tomorrowish"}, "'tomorrowish' is no date"),
        ({"temperature": "18", "enemy": "nobody"}, "nobody"),
        ({"temperature": "400"}, "400"),
        ({"temperature": "18", "swing": "70"}, "0 to 40 °C"),
        ({"house": "south", "swing": "7"}, "a daily swing and a house were told"),
        ({"house": "attic"}, "known: north, south"),
        ({"house": "north"}, "no temperature near 2026-04-20"),
    ],
)
def test_a_question_that_cannot_be_read_is_answered_beside_the_form(with_book, told, said):
    response = with_book.get("/lag", params={**ASKED, **told})
    page = Page(response.text)
    assert said in page.words
    assert [form["class"] for form in page.all("form")] == ["ask", "languages"]
    assert response.status_code == 422
    assert with_book.get("/api/lag", params={**ASKED, **told}).status_code in (400, 404)


def test_a_file_and_a_temperature_together_are_refused(without_book):
    response = send(without_book, logger_lines(), temperature="18")
    assert response.status_code == 422
    assert "temperature and file were told" in Page(response.text).words
