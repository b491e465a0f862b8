"""The invented farm is one press away, says that it is invented, and leaves the grower's own book alone."""

from __future__ import annotations

import time

from outpace.season.demo import beside
from outpace.season.open_book import open_book
from outpace.terms.place import Farm, House

FARM = Farm(farm="Invented Cove", latitude=43.1, longitude=-8.2, time_zone="Europe/Madrid", currency="EUR")
HOUSE = House(farm="Invented Cove", house="north", crop="lettuce", area_m2=180, plants=2000)


def test_one_press_shows_the_invented_farm_and_one_more_the_own_again(stranger, monkeypatch):
    built = []

    def build_at(path, progress):
        built.append(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        building = path.with_name("building.book")  # what is there is whole
        with open_book(str(building), create=True) as book:
            book.record([FARM, HOUSE], by="invented farm")
        building.replace(path)

    monkeypatch.setattr(beside, "build_at", build_at)
    stranger.client.post("/demo")
    deadline = time.monotonic() + 30
    while stranger.client.get("/settings").status_code == 503 and time.monotonic() < deadline:
        time.sleep(0.05)
    shown = stranger.client.get("/settings").text
    assert "Invented Cove" in shown
    assert "Invented farm." in shown
    assert "Back to your own farm" in shown
    assert len(built) == 1
    assert stranger.rows(Farm) == ()
    # What is entered meanwhile goes into the invented farm's book, not into the grower's.
    stranger.send("decision", house="north", chosen="wait", reason="to try it")
    stranger.client.post("/demo/leave")
    assert "next: Your farm" in stranger.get("/start")
    assert "Back to your own farm" not in stranger.client.get("/start").text
    assert stranger.rows(Farm) == ()
