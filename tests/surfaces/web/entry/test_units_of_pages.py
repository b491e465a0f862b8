"""Pages in the units of who reads them; what is typed in them is kept in SI."""

from __future__ import annotations

import html
import re
from datetime import UTC, datetime, timedelta
from urllib.parse import urlencode

import pytest
from tests.surfaces.web.conftest import example

from outpace.surfaces.web.manner import COOKIE
from outpace.terms.enemies import Lot
from outpace.terms.place import Climate, Farm, House, Zone
from outpace.terms.upkeep import Spray

IMPERIAL = {"temperature": "degf", "area": "ft2"}
YESTERDAY = (datetime.now(UTC) - timedelta(days=1)).date().isoformat()


def choose(client, **chosen: str) -> None:
    client.cookies.set(COOKIE, urlencode({"language": "en", **chosen}))


def hidden_units(text: str) -> str:
    return html.unescape(re.search(r'name="units" value="([^"]+)"', text).group(1))


def test_the_page_of_a_house_tells_warmth_in_the_readers_degrees(client, answers):
    told = example("ahead")
    told["heat_days"] = [{"date": "2026-04-24", "max": 30.0}]
    told["verdict"]["reasons"] = []  # said by the season, in the manner of who asks
    answers.given["ahead"] = told
    assert "up to 30 °C" in client.get("/house/south").text
    choose(client, **IMPERIAL)
    text = client.get("/house/south").text
    # Source: 30 °C are 86 °F (definition of the scale).
    assert "up to 86 °F" in text
    assert "°C" not in text


def test_the_week_tells_grounds_in_the_readers_areas(client, answers):
    told = example("week")
    told["houses"][0]["area_m2"] = 2000.0
    answers.given["week"] = told
    choose(client, area="mu")
    # Source: 15 mu are a hectare, so 2000 m² are 3 mu (recalled).
    assert "3 mu" in client.get("/").text


def test_programs_are_told_si_whatever_a_browser_chose(client, answers):
    choose(client, **IMPERIAL)
    assert client.get("/api/ahead/south").json() == {**example("ahead"), "house": "south"}
    assert "°F" not in client.get("/house/south/days.csv").text


def test_units_are_chosen_on_the_settings_page_and_kept_in_this_browser(grower):
    page = grower.client.get("/settings").text
    for name in ("language", "decimal", "weeks", "temperature", "area"):
        assert f'<select id="{name}" name="{name}">' in page
    kept = {"language": "en", "decimal": ".", "weeks": "us", **IMPERIAL}
    sent = grower.client.post("/language?back=/settings", data=kept, follow_redirects=False)
    assert sent.headers["location"] == "/settings"
    page = grower.client.get("/settings").text
    assert '<option value="degf" selected>' in page
    assert '<option value="ft2" selected>' in page


def test_a_farm_that_measures_in_fahrenheit_is_told_so_where_nobody_chose(grower):
    own = grower.rows(Farm)[0].farm
    grower.send("farm", name=own, currency="EUR", temperature_unit="degf", area_unit="acre")
    assert "°F" in grower.client.get("/enter/arrival").text
    choose(grower.client, temperature="degc")
    assert "°C" in grower.client.get("/enter/arrival").text
    assert "in acre" in grower.get("/enter/house")


def test_what_is_typed_in_the_readers_units_is_kept_in_si(grower):
    choose(grower.client, **IMPERIAL)
    grower.send("temperature", house="Long", on=YESTERDAY, low="50", high="86")
    kept = sorted(row.temperature_degc for row in grower.rows(Climate))
    assert (kept[0], kept[-1]) == (pytest.approx(10.0, abs=0.6), pytest.approx(30.0, abs=0.6))
    grower.send(
        "arrival",
        lot="L1",
        enemy="aphidius_colemani",
        form_="mummies",
        number=500,
        label_counts="unknown",
        parcel="50",
    )
    assert grower.rows(Lot)[0].parcel_degc == 10.0
    grower.send("zone", house="Long", zone="bay 1", area="1000")
    # Source: 1 ft² is 0.09290304 m² (1959 agreement, recalled).
    assert grower.rows(Zone)[0].area_m2 == pytest.approx(92.90304)
    grower.send("spray", house="Long", kind="soap", area_m2="200 m2")
    assert grower.rows(Spray)[0].area_m2 == 200.0


def test_the_unit_stands_beside_its_field(grower):
    choose(grower.client, temperature="degf", area="decare")
    assert "Temperature in the parcel, °F" in grower.get("/enter/arrival")
    assert "Area treated, decare" in grower.get("/enter/spray")
    assert "Open vents and sides, m²" in grower.get("/enter/house")
    assert "Heating begins at, °F" in grower.get("/enter/house")


def test_a_form_is_read_in_the_units_it_was_shown_in_whatever_was_chosen_since(grower):
    choose(grower.client, **IMPERIAL)
    units = hidden_units(grower.client.get("/enter/arrival").text)
    choose(grower.client, temperature="degc", area="m2")
    told = {"enemy": "aphidius_colemani", "form_": "mummies", "number": 500, "label_counts": "unknown"}
    grower.send("arrival", lot="L1", parcel="50", units=units, **told)
    assert grower.rows(Lot)[0].parcel_degc == 10.0


def test_a_mistake_in_a_measured_field_stands_beside_it(grower):
    choose(grower.client, **IMPERIAL)
    told = {"enemy": "aphidius_colemani", "form_": "mummies", "number": 500, "label_counts": "unknown"}
    grower.send("arrival", 422, lot="L1", parcel="warm", **told)
    assert 'id="parcel-wrong"' in grower.last.text
    assert 'name="parcel" value="warm"' in grower.last.text


def test_a_row_is_shown_and_corrected_in_the_readers_units_and_the_rest_of_it_stays_to_the_last_digit(grower):
    before = grower.rows(House)[0]
    rows = grower.client.get("/book?table=houses").text
    address = html.unescape(re.search(r'href="(/book/row[^"]+)"', rows).group(1))
    choose(grower.client, temperature="degf", area="acre")
    page = grower.client.get(address).text
    fields = dict(re.findall(r'name="(is_[a-z0-9_]+)" value="([^"]*)"', page))
    ticked = dict(re.findall(r'name="(is_[a-z0-9_]+)" value="([^"]*)"[^>]* checked', page))
    fields = {name: html.unescape(value) for name, value in {**fields, **ticked}.items()}
    assert float(fields["is_area_m2"]) == pytest.approx(before.area_m2 / 4046.8564224, abs=1e-6)
    told = {
        **fields, "is_heating_setpoint_degc": "59", "table": "houses", "form_id": "corrected-1", "by": "Ida",
        "key": html.unescape(re.search(r'name="key" value="([^"]*)"', page).group(1)),
        "units": hidden_units(page), "why": "read anew", "deed": "correct",
    }  # fmt: skip
    sent = grower.client.post("/book/row", data=told, follow_redirects=True)
    assert sent.status_code == 200
    (after,) = grower.rows(House)
    assert (after.heating_setpoint_degc, after.area_m2) == (15.0, before.area_m2)


def test_the_lag_of_a_release_is_asked_in_the_readers_degrees(client):
    asked = "/lag?enemy=aphidius_colemani&pest=myzus_persicae&release=2026-04-20&temperature="
    celsius = client.get(f"{asked}20").text
    choose(client, **IMPERIAL)
    # Source: 20 °C are 68 °F (definition of the scale).
    fahrenheit = client.get(f"{asked}68").text
    sentence = re.compile(r"<h1>(.*?)</h1>", re.S)
    assert sentence.search(celsius).group(1) == sentence.search(fahrenheit).group(1)
    assert "Mean temperature, °F" in fahrenheit
    # An address that names its units means them for every reader.
    again = client.get(f"{asked}20&units=degc+m2").text
    assert sentence.search(again).group(1) == sentence.search(celsius).group(1)
