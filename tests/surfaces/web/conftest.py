"""Pages that show the example answers, without a book."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from outpace.errors import ExitCode, OutpaceError
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.app import create_app
from outpace.surfaces.web.asking import Asked

EXAMPLES = Path(__file__).parent.parent / "answers"


NO_FINDS = "Look at 62 more plants by Sat 25 Apr to halve the limit of 7.1 %, or accept it."


def example(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((EXAMPLES / f"{name}.json").read_text())
    return found


class ExampleAnswers(Answers):
    """Answers read from the examples; ``given`` overrides one, or raises it where it is an error."""

    def __init__(self) -> None:
        super().__init__("no such book")
        self.given: dict[str, Any] = {}
        self.farm_names = ["example cove"]
        self.house_names = ["long", "south"]

    def _give(self, name: str) -> dict[str, Any]:
        found = self.given.get(name)
        if isinstance(found, Exception):
            raise found
        return found if found is not None else example(name)

    async def head(self) -> str:
        return str(example("week")["book_head"])

    async def farms(self) -> list[str]:
        self._give("week")
        return self.farm_names

    async def houses(self, asked: Asked) -> list[str]:
        return self.house_names

    async def week(self, asked: Asked) -> dict[str, Any]:
        return self._give("week")

    async def ahead(self, asked: Asked, house: str, days: int = 28) -> dict[str, Any]:
        if house not in {"south", "long"}:
            raise OutpaceError(
                f"no house called {house!r}",
                allowed="known: south, long",
                code=ExitCode.USAGE,
                hint="see the list",
            )
        return {**self._give("ahead"), "house": house}

    async def no_finds(self, asked: Asked, house: str) -> dict[str, Any]:
        return {**self._give("nofinds"), "house": house, "sentence": NO_FINDS}

    async def walk_plan(self, asked: Asked, house: str, *, rows=None, seen=None) -> dict[str, Any]:
        found = self._give("walkplan")
        return {**found, "house": house, "stand": found["stand"] if seen else None}

    async def walk_round(self, asked: Asked, minutes: float | None = None) -> dict[str, Any]:
        return {**self._give("walkround"), "minutes": minutes}

    async def walk_kit(self, asked: Asked) -> dict[str, Any]:
        return self._give("walk_kit")

    async def stop_lines(self, asked: Asked) -> dict[str, Any]:
        return self._give("stop_lines")

    async def plan(self, asked: Asked, budget=None) -> dict[str, Any]:
        return self._give("plan")

    async def course(self, asked: Asked, house: str, told) -> dict[str, Any]:
        return {**self._give("course"), "house": house}

    async def enemies(self, asked: Asked, house: str) -> dict[str, Any]:
        return self._give("enemies")

    async def edges(self, asked: Asked, house: str, planting=None, end=None) -> dict[str, Any]:
        return self._give("edges")

    async def points(self, asked: Asked, house: str, lot: str, number=None, carrier=None) -> dict[str, Any]:
        return {**self._give("points"), "house": house, "lot": lot}

    async def share(self, asked: Asked, lot: str, number=None) -> dict[str, Any]:
        return {**self._give("share"), "lot": lot}

    async def banker_plan(self, asked: Asked, house=None, expected=None) -> dict[str, Any]:
        return self._give("bankerplan")

    async def open_orders(self, asked: Asked) -> dict[str, Any]:
        return self._give("openorders")

    async def lots(self, asked: Asked) -> list[dict[str, Any]]:
        return [{"lot": "L-2201", "said": "L-2201: Aphidius ervi, mummies", "left": 500}]

    async def what_if(self, asked: Asked, house: str, changes) -> dict[str, Any]:
        return {**self._give("whatif"), "house": house}

    async def trace(self, asked: Asked, code: str) -> dict[str, Any]:
        return {**self._give("trace"), "code": code}

    async def review(self, asked: Asked, replay: bool) -> dict[str, Any]:
        return self._give("review")

    async def codes(self, asked: Asked) -> dict[str, Any]:
        return {"harvests": ["K-20"], "lots": ["L-2201"]}

    async def order(self, asked: Asked, budget=None) -> dict[str, Any]:
        return self._give("order")


@pytest.fixture
def answers() -> ExampleAnswers:
    return ExampleAnswers()


@pytest.fixture
def client(answers: ExampleAnswers) -> TestClient:
    app = create_app("no such book", answers=answers)
    return TestClient(
        app, base_url="http://localhost", client=("127.0.0.1", 50000), raise_server_exceptions=False
    )
