"""Entering by page: what is written, said back, refused beside its field, and written once."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from outpace.surfaces.web.entry.catalogue import FORMS
from outpace.surfaces.web.entry.fields import Field, Form, in_page_words
from outpace.terms.enemies import Allocation, Banker, Check, Lot, OrderLine, Pack, Release
from outpace.terms.place import ActionLevel, Climate, CropStage, Farm, House, PlantsIn, Zone
from outpace.terms.scouting import Card, Seen, WalkLine
from outpace.terms.upkeep import Decision, Harvest, Permit, Spray

YESTERDAY = (datetime.now(UTC) - timedelta(days=1)).date().isoformat()


def test_an_empty_book_leads_to_a_first_house_in_two_forms(stranger):
    assert "next: Your farm" in stranger.get("/")
    stranger.send("farm", name="Kelp Lane", town="Europe/Dublin", currency="eur")
    (farm,) = stranger.rows(Farm)
    # Source: zone.tab of the tz database, Dublin at +5320-00615: 53° 20' N, 6° 15' W.
    assert (farm.latitude, farm.longitude) == (pytest.approx(53 + 20 / 60, abs=1e-4), -6.25)
    assert (farm.time_zone, farm.country, farm.currency) == ("Europe/Dublin", "IE", "EUR")
    assert "next: A house" in stranger.get("/")
    said = stranger.send(
        "house",
        name="Long",
        crop="sweet pepper",
        length="40",
        width="8",
        rows=8,
        spacing="50",
        costs="sticky fruit",
    )
    # 8 rows of 40 m, a plant at each end and every 50 cm between: 8 × 81 plants; 40 m × 8 m of ground.
    assert "House Long: 320 m², 648 plants." in said
    (house,) = stranger.rows(House)
    assert (house.plants, house.area_m2, house.action_level, house.action_unit) == (648, 320.0, 1.0, "leaf")
    assert "common practice without a source" in said
    assert "next: A first walk" in stranger.get("/start")
    # Twelve entries on three forms: four of the farm, seven of the house, one line of a walk.
    stranger.send("walk", house="Long", line="20 looked at, none", unit="plant", chosen="random")
    assert "All 3 first steps are done" in stranger.get("/start")


def test_degrees_take_the_place_of_a_town(stranger):
    assert "the time zone is not told" in stranger.send(
        "farm", 422, name="Far Shore", latitude="-41,3", longitude="174.8", currency="NZD"
    )
    stranger.send(
        "farm",
        name="Far Shore",
        latitude="-41,3",
        longitude="174.8",
        currency="NZD",
        time_zone="Pacific/Auckland",
    )
    assert stranger.rows(Farm)[0].latitude == -41.3


def test_a_mistake_stands_beside_its_field_and_nothing_typed_is_lost(grower):
    said = grower.send("temperature", 422, house="Long", on=YESTERDAY, low="9", high="nine")
    assert "To mend: 1" in said
    text = grower.last.text
    assert 'id="high-wrong"' in text
    assert 'aria-describedby=" high-wrong" aria-invalid="true"' in text
    assert 'name="low" value="9"' in text
    assert 'name="high" value="nine"' in text
    assert grower.rows(Climate) == ()
    missing = grower.send("house", 422, name="Short")
    assert "To mend: 3" in missing


def test_a_value_that_the_book_refuses_leads_back_to_its_field(grower):
    grower.send(
        "release", 422, house="Long", number="-3", enemy="aphidius_colemani", form_="mummies", on=YESTERDAY
    )
    assert 'id="number-wrong"' in grower.last.text


def test_a_form_sent_twice_is_written_once(grower):
    told = {
        "house": "Long",
        "number": 500,
        "enemy": "aphidius_colemani",
        "form_": "mummies",
        "on": f"{YESTERDAY}T10:00",
    }
    first = grower.send("release", form_id="the-same-form", **told)
    assert grower.send("release", form_id="the-same-form", **told) == first
    # Another page with the same content is the same release too: its time makes its key.
    assert "held this already" in grower.send("release", **told)
    assert len(grower.rows(Release)) == 1


def test_who_writes_is_asked_once_and_remembered(grower):
    grower.client.cookies.clear()
    assert "nobody is named" in grower.send("decision", 422, house="Long", chosen="wait", by="")
    grower.send("decision", house="Long", chosen="wait", reason="few aphids", by="Ana")
    assert 'name="by" value="Ana"' in grower.client.get("/enter/decision").text
    assert grower.rows(Decision)[0].person == "Ana"


def test_a_conflict_writes_nothing_until_it_is_to_replace(grower):
    told = {"house": "Long", "name": "3", "on": f"{YESTERDAY}T10:00", "hung": "2026-01-02"}
    grower.send("card", winged=4, **told)
    said = grower.send("card", 409, winged=5, **told)
    assert "the book holds something else" in said
    assert grower.rows(Card)[0].winged == 4
    grower.send("card", winged=5, replace="yes", why="misread", **told)
    assert grower.rows(Card)[0].winged == 5


def test_every_thing_of_a_week_is_entered_by_page(grower):
    grower.send(
        "walk",
        house="Long",
        line="20 looked at, 4 with green peach aphid, about 60",
        unit="plant",
        chosen="random",
    )
    assert grower.rows(WalkLine)[0].infested == 4
    grower.send(
        "arrival", lot="L1", enemy="aphidius_colemani", form_="mummies", number=500, label_counts="unknown"
    )
    early = grower.send("check", lot="L1", looked_at=50, emerged=40)
    assert "neither pass nor reject" in early
    grower.send("release", house="Long", lot="L1", number=450, points=9)
    grower.send("plants", crop="cucumber", number=100, source="a raiser", sprays_told="unknown")
    grower.send("banker", house="Long", plants=4)
    banker = grower.rows(Banker)[0].banker
    grower.send("withdraw", banker=banker)
    grower.send("harvest", house="Long", code="K-1", amount="12,5", unit="kg")
    grower.send("permit", enemy="aphidius_colemani", seen="yes", number="IE-7")
    grower.send(
        "pack", supplier="By Post", enemy="aphidius_colemani", form_="mummies", pack_size=500, label_counts="unknown",
        price=30, cutoff_weekday="Mon", delivery_weekday="Thu",
    )  # fmt: skip
    grower.send("zone", house="Long", zone="bay 1", area="160", door="yes")
    grower.send("level", house="Long", pest="myzus_persicae", level="2", unit="leaf")
    grower.send("stage", house="Long", leaves_per_plant="30")
    grower.send("temperature", house="Long", on=YESTERDAY, low="12", high="24")
    held = {kind.__name__: len(grower.rows(kind)) for kind in (
        Lot, Check, Release, PlantsIn, Banker, Harvest, Permit, Pack, Zone, ActionLevel, CropStage
    )}  # fmt: skip
    assert held == dict.fromkeys(held, 1)
    assert grower.rows(Harvest)[0].amount == 12.5
    assert grower.rows(Banker)[0].withdrawn_on is not None
    for path in ("/arrivals", "/sprays", "/plants", "/settings", "/money", "/book", "/enter", "/more"):
        grower.get(path)


def test_an_order_by_telephone_and_its_invoice_are_entered_by_page(grower):
    told = {"supplier": "By Post", "enemy": "aphidius_colemani", "form_": "mummies"}
    comes = (datetime.now(UTC) + timedelta(days=3)).date()
    # Without an offer the size of a pack has to be told.
    grower.send("order", 422, packs=2, delivery=comes, house="Long", **told)
    assert 'id="pack_size-wrong"' in grower.last.text
    grower.send(
        "pack", pack_size=500, label_counts="unknown", price=30, freight=9, cutoff_weekday="Mon",
        delivery_weekday="Thu", **told,
    )  # fmt: skip
    said = grower.send("order", packs=2, delivery=comes, house="Long", order="T-1", **told)
    assert "2 packs of Aphidius colemani from By Post" in said
    assert "Nothing was sent" in said
    assert "look up the permit" in said
    (line,) = grower.rows(OrderLine)
    assert (line.pack_size, line.unit_price, line.freight, line.status) == (500, 30.0, 9.0, "placed")
    (part,) = grower.rows(Allocation)
    assert (part.house, part.number, part.release_date) == ("Long", 1000, comes)
    assert "2 × 500" in grower.get("/arrivals")
    said = grower.send("invoice", ordered="T-1|1", invoice="R-17", unit_price="31,5", freight="8")
    # By hand: 2 packs of 31.50 and 8 of freight.
    assert "EUR 71.00 together" in said
    (line,) = grower.rows(OrderLine)
    assert (line.invoice, line.unit_price, line.freight) == ("R-17", 31.5, 8.0)
    assert "R-17" in grower.get(f"/money?last={comes}")


def test_an_invoice_that_tells_nothing_is_not_kept(grower):
    comes = (datetime.now(UTC) + timedelta(days=3)).date()
    grower.send(
        "order", supplier="By Post", enemy="aphidius_colemani", form_="mummies", packs=1, pack_size=250, delivery=comes,
        house="Long", order="T-2",
    )  # fmt: skip
    grower.send("invoice", 422, ordered="T-2|1")
    assert 'id="invoice-wrong"' in grower.last.text


def test_a_spray_of_which_little_is_told_acts_as_danger(grower):
    said = grower.send("spray", house="Long", kind="soap")
    assert "keep out" in said
    assert "hive closed or out, until when?" in said
    (spray,) = grower.rows(Spray)
    assert (spray.reentry_h, spray.harvest_interval_d, spray.residual_d) == (None, None, None)
    assert "no release here" in grower.get("/sprays").casefold()
    # A release into it is written down all the same, and what it meets is said at that moment.
    warned = grower.send("release", house="Long", number=100, enemy="aphidius_colemani", form_="adults")
    assert "belongs in another house" in warned


def test_a_jar_of_mummies_is_kept_with_its_walk_and_counted_later(grower):
    grower.send("walk", house="Long", line="20 looked at, none", unit="plant", chosen="random")
    assert "Keep it dry" in grower.send("jar", house="Long", put_in="40")
    said = grower.send("jar", house="Long", wasps="20", hyperparasitoids="5")
    # Source: Clopper and Pearson's exact interval for 5 of 25 ends at 0.407 (scipy's binomtest).
    assert "20 % were hyperparasitoids: in the crop it may be up to 41 %" in said
    rows = {(row.organism, row.stage, row.number) for row in grower.rows(Seen)}
    assert rows == {("mummies", "in jar", 40), ("wasps", "from jar", 20), ("hyperparasitoids", "from jar", 5)}
    assert len({(row.walk, row.unit_no) for row in grower.rows(Seen)}) == 1
    today = datetime.now(UTC).date().isoformat()
    grower.send("jar", 422, house="Long", wasps="41", hyperparasitoids="0", walked=today)
    assert 'id="wasps-wrong"' in grower.last.text


@pytest.mark.parametrize("key", FORMS)
def test_every_form_opens_and_names_its_options_as_the_command_line_does(grower, key):
    said = grower.get(f"/enter/{key}")
    assert "is needed" in grower.client.get(f"/enter/{key}").text
    assert said


def test_messages_name_fields_and_pages_instead_of_options_and_commands():
    form = Form("x", "", "", "", (Field("packed", "Packed on", option="--packed"),))
    assert (
        in_page_words("add `--packed DATE`, then `outpace plan`", form)
        == "add “Packed on”, then the page “Plan and order”"
    )
    assert in_page_words("see `outpace spray show HOUSE`") == "see the page “Sprays”"


def test_over_the_local_network_the_name_is_who_signed_in(grower):
    class Door:
        def person(self, headers):
            return "Ana" if b"cookie" in headers else None

    grower.client.app.state.lan = Door()
    assert 'name="by"' not in grower.client.get("/enter/decision").text
    grower.send("decision", house="Long", chosen="wait", by="someone else")
    assert grower.rows(Decision)[0].person == "Ana"
