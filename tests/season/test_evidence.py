"""Parts of an answer are kept by what they rest on: the same evidence is worked out once, other evidence anew."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from outpace.season import outlook, pooling
from outpace.season.ahead import ahead
from outpace.season.evidence import digest_of
from outpace.season.week import week_with_houses
from outpace.season.worked_out import forget
from outpace.terms.enemies import Lot, Pack, Release
from outpace.terms.place import Farm, House, Zone
from outpace.terms.scouting import Walk, WalkLine
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Harvest, Spray

NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)
FARM = Farm(farm="F", latitude=52.0, longitude=0.0, time_zone="UTC", currency="EUR", labour_per_h=15.0)
HOUSE = House(farm="F", house="H", crop="sweet pepper", area_m2=200.0, plants=500, planted=date(2026, 3, 1))
OTHER = replace(HOUSE, house="O", area_m2=300.0)
PACK = Pack(
    supplier="S",
    enemy="aphidius_colemani",
    form="mummies",
    pack_size=250,
    price=30.0,
    label_counts="units_in_pack",
    cutoff_weekday="Mon",
    cutoff_time="12:00",
    delivery_weekday="Wed",
    lead_d=2,
)
LOT = Lot(
    lot="L", enemy=PACK.enemy, form="mummies", label_counts="units_in_pack", labelled_number=500,
    packed=date(2026, 4, 20), arrived=NOW - timedelta(days=12),
)  # fmt: skip
LET_GO = Release(release="r", farm="F", house="H", time=NOW - timedelta(days=12), lot="L", number=200)


def walk(key, house, days_ago, infested):
    when = NOW - timedelta(days=days_ago)
    told = Walk(
        walk=key, farm="F", house=house, time=when, unit="plant", chosen="random", looked_at=20
    )  # fmt: skip
    return told, WalkLine(
        walk=key, pest="myzus_persicae", looked_at=20, infested=infested, aphids_about=8 * infested
    )


WALKS = [walk("a", "H", 15, 1), walk("b", "H", 3, 4), walk("c", "O", 14, 1), walk("d", "O", 2, 2)]


def book(*, walks=WALKS, at=NOW, **others):
    rows = {
        "farm": (FARM,),
        "houses": (HOUSE, OTHER),
        "packs": (PACK,),
        "lots": (LOT,),
        "releases": (LET_GO,),
        "walks": tuple(row for row, _ in walks),
        "walk_lines": tuple(row for _, row in walks),
        **others,
    }
    return Snapshot(as_of=at, head=repr((at, rows)), rows=rows)


@pytest.fixture
def refits(monkeypatch, tmp_path):
    monkeypatch.setenv("OUTPACE_CACHE", str(tmp_path / "kept"))
    done = []
    for module in (outlook, pooling):
        work = module.refit
        monkeypatch.setattr(
            module, "refit", lambda *args, _work=work, **how: done.append(how["seed"]) or _work(*args, **how)
        )
    return done


def anew(work, *told):
    """Return an answer as the next start of the program gives it."""
    outlook._kept.clear()
    pooling._kept.clear()
    return json.loads(json.dumps(work(*told)))


def week(snapshot):
    return anew(week_with_houses, snapshot)


def house(snapshot):
    return anew(ahead, snapshot, "H")


@pytest.mark.parametrize(("names", "said"), [((), 0), (("door", "back"), 1)])
def test_a_house_of_several_zones_says_that_the_plan_asks_for_any_of_them(refits, names, said):
    zones = tuple(Zone(farm="F", house="H", zone=name, area_m2=100.0, plants=250) for name in names)
    told = house(book(zones=zones))["cautions"]
    assert sum("the plan's chance is that any of them" in line for line in told) == said


def test_what_does_not_bear_on_the_aphids_is_answered_without_a_refit(refits):
    first = week(book())
    assert len(set(refits)) >= 2
    refits.clear()
    picked = Harvest(harvest="h", farm="F", house="H", time=NOW - timedelta(hours=1), lot_code="K")
    again = week(book(harvests=(picked,)))
    assert refits == []
    assert again[1] == first[1]
    # The hour before the cut-off and the one after it are two plans, each of them as worked out anew.
    later = week(book(at=NOW + timedelta(hours=4)))
    kept = week(book(at=NOW + timedelta(hours=4)))
    forget()
    assert week(book(at=NOW + timedelta(hours=4))) == later == kept
    assert later[0]["as_of"] != first[0]["as_of"]


@pytest.mark.parametrize("new", ["walk", "spray", "lot"])
def test_new_evidence_is_worked_out_anew_and_as_if_nothing_were_kept(refits, new):
    spray = Spray(
        spray="s", farm="F", house="H", start=NOW - timedelta(days=1), end=NOW - timedelta(days=1, hours=-1),
        kind="insecticide", product="invented", kill_pest_share=0.6, kill_enemy_share=0.5, residual_d=2.0,
    )  # fmt: skip
    snapshot = {
        "walk": book(walks=[*WALKS, walk("e", "H", 0.2, 9)]),
        "spray": book(sprays=(spray,)),
        "lot": book(lots=(replace(LOT, labelled_number=250, label_counts="adults_expected"),)),
    }[new]
    first = house(book())
    refits.clear()
    found = house(snapshot)
    assert refits
    forget()
    assert house(snapshot) == found
    assert found["pests"] != first["pests"]


plain = st.recursive(
    st.one_of(st.integers(-3, 3), st.text("ab:1", max_size=3), st.floats(-2, 2), st.none(), st.booleans()),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=6,
)


@given(plain, plain)
def test_two_things_have_one_digest_only_where_they_are_the_same(one, other):
    assert (digest_of(one) == digest_of(other)) == (repr(one) == repr(other))


def test_arrays_differ_by_shape_kind_and_every_number():
    zeros = np.zeros((2, 3))
    marks = [
        digest_of(each) for each in (zeros, zeros.T, zeros.astype(np.int64), zeros + np.eye(2, 3) * 1e-300)
    ]
    assert len(set(marks)) == 4
    assert digest_of(zeros) == digest_of(np.zeros((2, 6))[:, ::2])


def test_what_cannot_be_told_apart_has_no_digest():
    with pytest.raises(TypeError, match="no digest of"):
        digest_of([object()])


NEXT_DAY = NOW + timedelta(days=1)
TODAY = walk("e", "O", 0.1, 12)


def test_a_walk_today_leaves_the_other_house_as_it_is_and_teaches_it_tomorrow(refits):
    first, without = house(book()), house(book(at=NEXT_DAY))
    refits.clear()
    assert house(book(walks=[*WALKS, TODAY])) == first
    assert refits == []
    assert anew(ahead, book(walks=[*WALKS, TODAY]), "O") != anew(ahead, book(), "O")
    refits.clear()
    tomorrow = house(book(walks=[*WALKS, TODAY], at=NEXT_DAY))
    assert refits
    assert tomorrow["pests"] != without["pests"]
    forget()
    assert house(book(walks=[*WALKS, TODAY], at=NEXT_DAY)) == tomorrow


def test_a_house_that_found_nothing_hears_of_the_aphid_next_door_tomorrow(refits):
    clean = [walk("a", "H", 15, 0), walk("b", "H", 3, 0)]
    today = [*clean, TODAY]
    assert house(book(walks=today))["pests"] == house(book(walks=clean))["pests"]
    told = house(book(walks=today, at=NEXT_DAY))["pests"]
    assert {item["pest"] for item in told} == {"myzus_persicae"}
    assert told != house(book(walks=clean, at=NEXT_DAY))["pests"]
