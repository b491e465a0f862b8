"""The same farm entered in m², ft², decare and mu gives the identical order."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import pytest

pytestmark = pytest.mark.slow

NOW = datetime.now(UTC)
PACKS = (
    "supplier,enemy,form,pack_size,label_counts,price,freight_per_parcel,cutoff_weekday,cutoff_time,"
    "delivery_weekday,lead_d\n"
    "Invented Supply,Aphidius colemani,mummies,250,units_in_pack,18,9,Thu,12:00,Wed,5\n"
)
# Source: 1 ft = 0.3048 m exactly, so 3,000 ft² are 278.70912 m²; a decare is 1,000 m², 15 mu are a hectare.
AREAS = {"m2": "278.70912", "ft2": "3000", "decare": "0.27870912", "mu": "0.41806368"}


def ago(days):
    return (NOW - timedelta(days=days)).date().isoformat()


@pytest.fixture
def order_of(say, tmp_path, monkeypatch):
    def order(unit):
        monkeypatch.setenv("OUTPACE_BOOK", str(tmp_path / f"{unit}.book"))
        place = (
            "--place",
            "51,4",
            "--time-zone",
            "Europe/Brussels",
            "--currency",
            "EUR",
            "--risk",
            "0.5",
            "--area-unit",
            unit,
        )
        told = [
            ("farm", "Low Meadow", *place),
            ("house", "tunnel", "--crop", "sweet pepper", "--area", AREAS[unit], "--plants", "700"),
            ("house", "tunnel", "--heating", "17", "--venting", "23", "--level", "60", "--per", "plant"),
            (
                "walk",
                "tunnel: 40 looked at, 2 with green peach aphid, about 4, 0 mummies",
                "--on",
                ago(2),
            ),
            ("book", "import", str(packs)),
        ]
        packs.write_text(PACKS, encoding="utf-8")
        for words in told:
            done = say(*words)
            assert done.code == 0, done.err
        done = say("order", "--budget", "40", "--json")
        assert done.code == 0, done.err
        answer = json.loads(done.out)
        del answer["as_of"]  # the second it was asked in
        return answer

    packs = tmp_path / "packs.csv"
    return order


def test_four_units_of_area_give_the_identical_order(order_of):
    first, *others = [order_of(unit) for unit in AREAS]
    assert first["orders"]
    assert all(other == first for other in others)
