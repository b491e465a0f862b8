"""The book as pages: rows found by a word, corrected by adding, withdrawn and still there."""

from __future__ import annotations

import html
import re

import pytest

from outpace.season.towns import degrees, towns
from outpace.terms.enemies import Release
from outpace.terms.place import Climate


@pytest.fixture
def released(grower):
    grower.send(
        "release", house="Long", number=500, enemy="aphidius_colemani", form_="mummies", on="2026-03-02T10:00"
    )
    return grower


def row_of(grower, table: str) -> tuple[str, dict[str, str]]:
    found = re.search(
        rf'href="(/book/row\?[^"]*table={table}[^"]*)"', grower.client.get(f"/book?table={table}").text
    )
    path = html.unescape(found[1])
    text = grower.client.get(path).text
    return path, {
        "table": table,
        "key": html.unescape(re.search(r'name="key" value="([^"]+)"', text)[1]),
        "form_id": re.search(r'name="form_id" value="([^"]+)"', text)[1],
        "by": "Ida",
    }


def test_rows_are_found_by_all_their_words(released):
    assert "Is it the 1 row" in released.get("/book?search=long+aphidius+500")
    assert "No row holds these words" in released.get("/book?search=nowhere")


def test_a_correction_is_added_with_its_reason_and_the_old_value_stays(released):
    path, told = row_of(released, "releases")
    refused = released.client.post("/book/row", data={**told, "is_number": "400"})
    assert refused.status_code == 422
    assert "no reason is told" in refused.text
    assert 'name="is_number" value="400"' in refused.text
    sent = released.client.post("/book/row", data={**told, "is_number": "400", "why": "miscounted"})
    assert sent.status_code == 200
    (row,) = released.rows(Release)
    assert (row.number, row.time.isoformat()) == (400, "2026-03-02T10:00:00+00:00")
    said = released.get(path)
    assert "because miscounted: number: 500 became 400" in said


def test_a_value_that_cannot_be_is_refused_beside_its_field(released):
    _, told = row_of(released, "releases")
    refused = released.client.post("/book/row", data={**told, "is_number": "many", "why": "x"})
    assert refused.status_code == 422
    assert 'id="number-wrong"' in refused.text
    assert released.rows(Release)[0].number == 500


def test_a_row_that_is_withdrawn_leaves_the_tables_and_not_the_history(released):
    path, told = row_of(released, "releases")
    released.client.post("/book/row", data={**told, "deed": "withdraw", "why": "another farm's"})
    assert released.rows(Release) == ()
    assert "This row was withdrawn." in released.get(path)


def test_a_row_that_is_not_there_is_told(released):
    assert released.client.get("/book/row?table=releases&key=[%22x%22]").status_code == 404
    assert released.client.get("/book/row?table=climate&key=[]").status_code == 404


def test_a_loggers_file_is_looked_into_asked_about_and_only_then_written(grower):
    rows = "".join(f"2026-03-{d:02d} {h:02d}:00;{14 + h / 6:.1f}\n" for d in range(1, 8) for h in range(24))
    content = f"time;temp\n{rows}2026-03-08 00:00;warm\n".encode()
    shown = grower.client.post(
        "/climate", data={"house": "Long"}, files={"file": ("bay 2.csv", content, "text/csv")}
    )
    assert "does not say Celsius or Fahrenheit" in shown.text
    assert grower.rows(Climate) == ()
    ready = grower.client.get(str(shown.url), params={"house": "Long", "temperature_unit": "degc"})
    assert "168 readings of 7 days" in ready.text
    token = shown.url.path.rpartition("/")[2]
    told = {"house": "Long", "temperature_unit": "degc", "by": "Ida", "form_id": "logger-one"}
    for _ in range(2):
        written = grower.client.post(f"/climate/{token}", data=told)
        assert "168 readings, 2026-03-01 to 2026-03-07" in written.text
    assert len(grower.rows(Climate)) == 168
    gone = grower.client.get("/climate/no-such-file?house=Long")
    assert gone.status_code == 404


def test_a_file_that_is_none_is_refused_beside_its_field(grower):
    told = grower.client.post(
        "/climate", data={"house": "Long"}, files={"file": ("x.csv", b"nonsense", "text/csv")}
    )
    assert told.status_code == 422
    assert 'id="file-wrong"' in told.text
    none = grower.client.post("/climate", data={"house": "Long"})
    assert "no file was sent" in none.text


def test_towns_stand_where_the_table_of_time_zones_puts_them():
    # Source: zone.tab of the tz database: Buenos Aires -3436-05827, Kolkata +2232+08822.
    assert degrees("-3436-05827") == (-34.6, -58.45)
    known = {town.zone: town for town in towns()}
    assert known["Asia/Kolkata"].longitude == pytest.approx(88 + 22 / 60, abs=1e-4)
    assert len(known) > 300
