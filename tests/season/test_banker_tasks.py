"""What the bankers of a house ask for stands among the tasks of its week."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

from tests.season.tunnels import NOW, a_farm

from outpace.season.outlook import outlook
from outpace.season.tasks import house_tasks
from outpace.terms.enemies import Banker
from outpace.terms.place import Farm, House
from outpace.terms.scouting import Mummies, Walk


def tasks_with(*rows: Banker, ragged: int = 0) -> list:
    """Return the banker tasks of a walked tunnel, in which so many of twenty empty mummies had a ragged hole."""
    book = a_farm(1)
    last = book.table(Walk)[-1]
    holes = Mummies(walk=last.walk, unit_no=1, colour="tan", empty_smooth=20 - ragged, empty_ragged=ragged)
    known = dataclasses.replace(
        book,
        head=f"{[row.banker for row in rows]} {ragged}",
        rows={**book.rows, "bankers": rows, "mummies": (holes,)},
    )
    farm, house = known.table(Farm)[0], known.table(House)[0]
    return [item for item in house_tasks(outlook(known, farm, house), 7, None) if item["kind"] == "banker"]


def pots(days_ago: int, **more) -> Banker:
    out = NOW - timedelta(days=days_ago)
    return Banker(
        banker=f"pots {days_ago}", farm="Low Meadow", house="tunnel 1", set_out=out, plants=4, **more
    )


def test_pots_that_are_due_stand_among_the_tasks_and_fresh_or_withdrawn_ones_do_not():
    assert tasks_with(pots(0)) == []
    assert tasks_with(pots(41, withdrawn_on=NOW - timedelta(days=2))) == []
    [due] = tasks_with(pots(40))
    assert due["day"] == str(NOW.date())
    assert "Renew 4 banker pots" in due["what"]


def test_the_first_ragged_hole_takes_the_pots_out_today():
    # Source: the trade's rule, withdraw at the first ragged holes in tan mummies (leaflets of suppliers).
    [out] = tasks_with(pots(0), ragged=1)
    assert out["day"] == str(NOW.date())
    assert "take them out" in out["what"]
    assert "1 of 20" in out["why"]
