"""A grower's own book, empty at first, with the pages over it."""

from __future__ import annotations

import html
import re
from dataclasses import dataclass, field
from itertools import count
from typing import Any

import pytest
from fastapi.testclient import TestClient

from outpace.season.open_book import open_book
from outpace.surfaces.web.app import create_app

NUMBERS = count(1)


def words_of(text: str) -> str:
    """Return what a page says between its menu and its end, choices of lists left out."""
    main = re.search(r"<main.*</main>", text, re.S)
    plain = re.sub(r"<option.*?</option>|<[^>]+>", " ", main.group() if main else text, flags=re.S)
    return " ".join(html.unescape(plain).split())


@dataclass
class Grower:
    """Someone who fills in pages by hand, as a browser without script does."""

    client: TestClient
    url: str
    said: list[str] = field(default_factory=list)

    def get(self, path: str) -> str:
        response = self.client.get(path)
        assert response.status_code == 200, (path, response.status_code)
        return words_of(response.text)

    def send(self, form: str, status: int = 200, **told: Any) -> str:
        """Fill in a form and press its button; return what the page says then."""
        told.setdefault("form_id", f"form-{next(NUMBERS):06d}")
        told.setdefault("by", "Ida")
        fields = {("form" if key == "form_" else key): str(value) for key, value in told.items()}
        response = self.client.post(f"/enter/{form}", data=fields, follow_redirects=True)
        assert response.status_code == status, (form, words_of(response.text)[:600])
        self.last = response
        return words_of(response.text)

    def rows(self, kind: type) -> tuple[Any, ...]:
        with open_book(self.url) as book:
            return book.snapshot().table(kind)


@pytest.fixture
def stranger(tmp_path) -> Grower:
    """A grower whose book is empty."""
    url = str(tmp_path / "own.book")
    open_book(url, create=True).close()
    app = create_app(url)
    client = TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000))
    yield Grower(client, url)
    app.state.answers.close()


@pytest.fixture
def grower(stranger) -> Grower:
    """A grower with a farm and one house."""
    stranger.send("farm", name="Kelp Lane", town="Europe/Dublin", currency="eur")
    stranger.send(
        "house",
        name="Long",
        crop="sweet pepper",
        length="40",
        width="8",
        rows=8,
        spacing="50",
        costs="sticky fruit",
    )
    return stranger
