"""A parcel that came late or hot goes where it spares most, by what is known today."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import jsonschema
import pytest
from tests.season.tunnels import a_farm

import outpace.surfaces.schemas
from outpace.errors import OutpaceError
from outpace.season.parcel_share import parcel_share
from outpace.surfaces.text.parcel_share import render
from outpace.terms.enemies import Allocation, Lot, OrderLine
from outpace.terms.scouting import WalkLine
from outpace.terms.upkeep import Spray

LINE = OrderLine(
    order="o1", line=1, farm="Low Meadow", supplier="Harbour Insects", enemy="aphidius_colemani", form="mummies",
    packs=1, pack_size=500, delivery_date=date(2026, 5, 1), status="arrived",
)  # fmt: skip
LOT = Lot(
    lot="L-1", order="o1", line=1, enemy="aphidius_colemani", form="mummies", label_counts="units_in_pack",
    labelled_number=500, arrived=datetime(2026, 5, 4, 6, tzinfo=UTC), parcel_degc=38.0,
)  # fmt: skip


def a_book(head, *, sprays=(), pests=("myzus_persicae", "myzus_persicae"), about=(4, 60)):
    farm = a_farm(2, area_m2=150.0, level=3.0)
    lines = tuple(
        WalkLine(walk=row.walk, pest=pest, looked_at=60, infested=min(number, 40), aphids_about=number)
        for row, pest, number in zip(farm.rows["walk_lines"], pests, about, strict=True)
    )
    meant = Allocation(
        order="o1", line=1, farm="Low Meadow", house="tunnel 1", release_date=date(2026, 5, 1), number=500
    )
    rows = {"walk_lines": lines, "orders": (LINE,), "lots": (LOT,), "allocations": (meant,), "sprays": sprays}
    return replace(farm, head=head, rows={**farm.rows, **rows})


def shares(answer):
    return {row["house"]: row["number"] for row in answer["houses"]}


def test_the_parcel_goes_to_the_house_that_needs_it_now_and_not_where_it_was_meant_for():
    answer = parcel_share(a_book("need", about=(1, 10)), "L-1")
    schema = json.loads((Path(outpace.surfaces.schemas.__file__).parent / "share.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    assert [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(answer)] == []
    got = shares(answer)
    assert sum(got.values()) == 500
    assert got["tunnel 2"] > got["tunnel 1"]
    told = " ".join(answer["cautions"])
    assert "3 days late" in told
    assert "38 °C in the parcel" in told
    assert max(len(line) for line in render(answer).splitlines()) <= 80


def test_a_house_with_an_unknown_residue_or_another_aphid_gets_none():
    spray = Spray(spray="s", farm="Low Meadow", house="tunnel 2", start=datetime(2026, 5, 3, 18, tzinfo=UTC))
    sprayed = parcel_share(a_book("sprayed", sprays=(spray,)), "L-1")
    assert shares(sprayed)["tunnel 2"] == 0
    assert "not entered" in next(row["why"] for row in sprayed["houses"] if row["house"] == "tunnel 2")
    other = parcel_share(a_book("other", pests=("myzus_persicae", "macrosiphum_euphorbiae")), "L-1")
    assert shares(other)["tunnel 2"] == 0
    assert "does not accept" in next(row["why"] for row in other["houses"] if row["house"] == "tunnel 2")


def test_more_is_never_given_than_is_there_and_nothing_left_is_refused():
    assert sum(shares(parcel_share(a_book("few"), "L-1", number=90)).values()) <= 90
    with pytest.raises(OutpaceError, match="nothing of lot"):
        parcel_share(
            replace(a_book("none"), rows={**a_book("none").rows, "lots": (replace(LOT, labelled_number=0),)}),
            "L-1",
        )
