"""Every page, served for a browser: what is photographed and measured."""

from __future__ import annotations

import json
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

from tests.surfaces.web.conftest import ExampleAnswers
from tests.surfaces.web.served import served

from outpace.records.store import Book
from outpace.season.demo.beside import build_at, place_in
from outpace.surfaces.web.app import create_app
from outpace.terms.place import Farm, House, Zone

LONGEST_WAIT_S = 900

FIXED = {
    "week": "/",
    "walk-minutes": "/walk?minutes=30",
    "count": "/count",
    "plan": "/plan",
    "bankers": "/bankers",
    "points": "/points",
    "on-order": "/standing",
    "share": "/share",
    "arrivals": "/arrivals",
    "sprays": "/sprays",
    "plants-in": "/plants",
    "write-down": "/enter",
    "book": "/book",
    "climate": "/climate",
    "review": "/review",
    "money": "/money",
    "trace": "/trace",
    "lag": "/lag?enemy=aphidius_colemani&pest=myzus_persicae&temperature=18&release=2026-04-20",
    "species-key": "/species-key?tubes=dark",
    "facts": "/facts",
    "facts-of-one": "/facts/aphidius_colemani",
    "settings": "/settings",
    "language": "/language",
    "more": "/more",
    "start": "/start",
}


def pages(houses: list[str]) -> dict[str, str]:
    """Return the address of every page by a name; those of houses are shown of the first one."""
    told = dict(FIXED)
    for name in ("house", "nofinds", "course", "enemies", "edges", "walk"):
        told[name if name != "walk" else "walk-plan"] = f"/{name}/{quote(houses[0], safe='')}"
    told["what-if"] = f"/house/{quote(houses[0], safe='')}/whatif?warmer=3&units=degc+m2"
    return told


class OwnBook(ExampleAnswers):
    """Answers of the examples over a book of their farm, for the pages that read the book itself."""

    def __init__(self, book_url: str) -> None:
        super().__init__()
        self.book_url = book_url


@contextmanager
def example_pages(folder: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """Serve the examples over a small book of the same farm; yield the address and every page."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "example.book"
    name = "example cove"
    if not path.exists():
        with Book.open(path, create=True) as book:
            farm = Farm(farm=name, latitude=43.1, longitude=-8.2, time_zone="Europe/Madrid", currency="EUR")
            houses = [
                House(
                    farm=name, house="south", crop="sweet_pepper", area_m2=360, plants=800, action_level=1.0
                ),
                House(farm=name, house="long", crop="cucumber", area_m2=480, plants=1200),
            ]
            zones = [Zone(farm=name, house="south", zone=zone) for zone in ("door", "back")]
            book.record([farm, *houses, *zones], by="Ana")
    with served(create_app(str(path), answers=OwnBook(str(path)))) as address:
        yield address, pages(["south"])


@contextmanager
def demo_pages(folder: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """Serve the invented farm, built in a folder where it is not there; yield the address and every page."""
    book = place_in(folder)
    if not book.exists():
        book.parent.mkdir(parents=True, exist_ok=True)
        build_at(book, print)
    app = create_app(str(book))
    with served(app) as address:
        with urllib.request.urlopen(f"{address}/api/week", timeout=LONGEST_WAIT_S) as answer:
            week = json.load(answer)
        houses = [house["house"] for house in week["houses"]]
        told = pages(houses)
        # The page of no finds is shown of a house in which nothing was found, where there is one.
        clean = (name for name in houses if answers(f"{address}/nofinds/{quote(name, safe='')}"))
        told["nofinds"] = f"/nofinds/{quote(next(clean, houses[0]), safe='')}"
        yield address, told


def answers(address: str) -> bool:
    """Return whether a page answers, and does not refuse."""
    try:
        with urllib.request.urlopen(address, timeout=120):
            return True
    except urllib.error.HTTPError:
        return False


def ready(address: str, path: str) -> None:
    """Wait until a page has worked out its answer, as its own reload would."""
    deadline = time.monotonic() + LONGEST_WAIT_S
    while time.monotonic() < deadline:
        try:
            with urllib.request.urlopen(address + path, timeout=120):
                return
        except urllib.error.HTTPError as error:
            if error.code != 503:
                return
            time.sleep(2)
