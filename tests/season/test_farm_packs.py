"""The packs of small tunnels are shared, and plan and order tell the same story of them."""

from __future__ import annotations

import json
from importlib.resources import files

import pytest
from jsonschema import Draft202012Validator
from tests.season.tunnels import NOW, SUPPLIER, a_farm, a_pack

from outpace.season.order import order
from outpace.season.parcels import placed_orders
from outpace.season.plan import plan
from outpace.terms.enemies import Allocation, OrderLine

TUNNELS = {"level": 60.0, "infested": 2}


@pytest.fixture(scope="module")
def tunnels():
    return a_farm(3, **TUNNELS)


@pytest.fixture(scope="module")
def planned(tunnels):
    return plan(tunnels)


@pytest.fixture(scope="module")
def ordered(tunnels, planned):
    return order(tunnels, plan=planned)


def test_small_tunnels_share_packs_and_pay_less_than_each_alone(tunnels, planned):
    assert len(planned["decisions"]) > 1
    alone = [plan(tunnels, houses=[f"tunnel {number}"], others=False)["cost"] for number in range(1, 4)]
    packs = sum(decision["opened"] for decision in planned["decisions"])
    assert planned["cost"]["packs"] == packs * 60.0
    paid = planned["cost"]["packs"] + planned["cost"]["freight"]
    assert paid < sum(cost["packs"] + cost["freight"] for cost in alone)


def test_every_tunnel_that_shares_still_holds(planned):
    assert {decision["house"] for decision in planned["decisions"]} <= set(planned["chance_ever_above"])
    assert all(chance <= 0.2 for chance in planned["chance_ever_above"].values())
    assert not planned["infeasible"]


def test_what_is_given_out_fits_in_the_packs_and_the_order_carries_the_same(planned, ordered):
    given = {}
    for item in ordered["orders"]:
        for line in item["lines"]:
            numbers = [place["number"] for place in line["houses"]]
            assert sum(numbers) <= line["packs"] * line["pack_size"]
            for place in line["houses"]:
                given[place["house"], item["delivery_date"]] = place["number"]
    assert given == {(d["house"], d["delivery_date"]): d["number"] for d in planned["decisions"]}
    total = sum(item["total"] for item in ordered["orders"])
    assert total == pytest.approx(planned["cost"]["packs"] + planned["cost"]["freight"])


def test_a_row_says_with_whom_its_packs_are_shared(planned):
    shared = [d for d in planned["decisions"] if d["number"] < d["packs"] * d["pack_size"]]
    assert shared
    for decision in shared:
        assert "packs shared with tunnel" in decision["why"]
        assert decision["house"] not in decision["why"].partition("shared with ")[2].split(", ")
    assert sum(d["price"] for d in planned["decisions"]) == pytest.approx(planned["cost"]["packs"])


def test_plan_and_order_with_shared_packs_are_what_their_schemas_say(planned, ordered):
    for name, answer in (("plan", planned), ("order", ordered)):
        schema = json.loads(files("outpace.surfaces.schemas").joinpath(f"{name}.json").read_text("utf-8"))
        assert [error.message for error in Draft202012Validator(schema).iter_errors(answer)] == []


def test_a_shared_order_is_placed_with_whole_packs_and_a_number_for_every_tunnel(tunnels, planned, ordered):
    rows = placed_orders(tunnels, ordered, now=NOW)
    firm = [d for d in planned["decisions"] if not d["provisional"]]
    assert sum(row.packs for row in rows if isinstance(row, OrderLine)) == sum(d["opened"] for d in firm)
    assert sorted((row.house, row.number) for row in rows if isinstance(row, Allocation)) == sorted(
        (d["house"], d["number"]) for d in firm
    )


def test_the_same_book_gives_the_same_shares(planned):
    assert plan(a_farm(3, **TUNNELS), others=False)["decisions"] == planned["decisions"]


def test_an_order_below_the_least_packs_is_filled_up_and_what_is_over_is_said():
    farm = a_farm(1, level=22.0, infested=2, packs=(a_pack(minimum_order_packs=3),))
    found = plan(farm, others=False)
    assert [(d["packs"], d["opened"], d["supplier"]) for d in found["decisions"]] == [(1, 3, SUPPLIER)]
    assert found["cost"]["packs"] == 180.0
    assert any("1000 of the 1500 labelled animals" in text for text in found["cautions"])


def decision(house, number, opened, *, provisional):
    return {
        "house": house, "enemy": "aphidius_colemani", "supplier": SUPPLIER, "form": "mummies", "pack_size": 500,
        "cutoff": "2026-05-07T12:00+01:00", "delivery_date": "2026-05-12", "release_date": "2026-05-12",
        "packs": 1, "opened": opened, "number": number, "price": 60.0 * opened, "provisional": provisional,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("fewest", "parts"), [(None, [(1, False, 60.0), (1, True, 60.0)]), (2, [(2, False, 120.0)])]
)
def test_a_house_that_must_be_walked_first_puts_no_pack_into_the_firm_order(planned, fewest, parts):
    # Two packs of 500 serve both houses; the firm one needs 300, which fit in one, though the other house opens both.
    farm = a_farm(2, packs=(a_pack(minimum_order_packs=fewest),), level=60.0)
    shared = [
        decision("tunnel 1", 300, 0, provisional=False),
        decision("tunnel 2", 600, 2, provisional=True),
    ]
    found = order(farm, plan={**planned, "decisions": shared})["orders"]
    freight = a_pack().freight_per_parcel or 0.0
    assert [(sum(line["packs"] for line in one["lines"]), one["provisional"]) for one in found] == [
        part[:2] for part in parts
    ]
    assert sum(one["total"] for one in found) == pytest.approx(120.0 + freight)
    assert [one["total"] - one["freight"] for one in found] == [part[2] for part in parts]
    assert [place["house"] for line in found[0]["lines"] for place in line["houses"]] == ["tunnel 1"]


def test_beside_the_plan_stands_what_else_could_be_done_with_spot_treatment_among_it(planned):
    by_house = {}
    for row in planned["instead"]:
        by_house.setdefault(row["house"], {})[row["key"]] = row
    for rows in by_house.values():
        assert {"plan", "half", "double", "nothing", "hand", "spots"} <= set(rows)
        # Law: what takes aphids away, on the same luck, never leaves a house worse off than nothing, but for the
        # luck of whole animals.
        assert rows["hand"]["chance_ever_above"] <= rows["nothing"]["chance_ever_above"] + 0.02
        assert rows["hand"]["days_above"] <= rows["nothing"]["days_above"] + 0.2
        # No wage and no price were told: they stay unknown and are never read as zero.
        assert rows["hand"]["cost"] is rows["spots"]["cost"] is rows["spots"]["hours"] is None


# Source: the trade's published ranges, [1/m² or plant per release]: van Lenteren (editor) 2003, ch. 11 pp. 173-174;
# Purdue, winter greens; Vermont Berry News 2001; Van Driesche et al. 2002; leaflets of suppliers.
PUBLISHED = [
    ("aphidius_ervi", 0.11, 0.54), ("aphidius_matricariae", 0.12, 0.49), ("aphidius_matricariae", 1.2, 2.4),
    ("aphidius_matricariae", 3.6, 3.6), ("aphelinus_abdominalis", 0.5, 2.0), ("aphelinus_abdominalis", 4.0, 4.0),
    ("aphidoletes_aphidimyza", 2.0, 2.0), ("aphidoletes_aphidimyza", 10.0, 10.0),
    ("chrysoperla_carnea", 10.0, 10.0), ("chrysoperla_carnea", 20.0, 20.0), ("Hippodamia", 25.0, 50.0),
    ("Hippodamia", 97.0, 97.0), ("Encarsia formosa", 1.0, 1.0), ("Encarsia formosa", 0.25, 1.0),
    ("Encarsia formosa", 9.0, 9.0), ("Eretmocerus", 1.5, 1.5), ("Eretmocerus", 0.5, 0.5), ("Eretmocerus", 9.0, 9.0),
    ("Phytoseiulus persimilis", 2.0, 6.0), ("Phytoseiulus persimilis", 20.0, 50.0),
    ("Neoseiulus cucumeris", 50.0, 100.0),
]  # fmt: skip


def test_every_published_rate_stands_beside_the_plan_with_its_source(planned):
    told = {(row["enemy"], row["low_per_m2"], row["high_per_m2"]): row for row in planned["rates"]}
    assert [rate for rate in PUBLISHED if rate not in told] == []
    assert all(row["source"] for row in planned["rates"])
    assert {row["source"] for row in planned["rates"] if row["evidence"] == "practice"} == {
        "common practice, no source"
    }


def test_a_plan_without_equals_says_that_there_are_none_and_one_with_a_budget_says_its_level(
    tunnels, planned
):
    assert ("no ties" in planned["search"]["text"]) is not bool(planned["ties"])
    held = plan(tunnels, budget=90.0, others=False)
    assert held["budget"] == 90.0
    assert sum(held["cost"][part] for part in ("packs", "freight", "labour")) <= 90.0
    assert any("90.00 EUR for the whole farm" in line for line in held["cautions"])
