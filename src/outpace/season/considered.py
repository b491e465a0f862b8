"""A spray that is being thought about: its figures as a person gives them, its clocks, and what it would destroy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.currency import money as amount
from outpace.estimation.lot_quality import lot_quality
from outpace.language import say, to_say
from outpace.planning.course import standing_now
from outpace.planning.house_outlook import HouseOutlook
from outpace.planning.spray_clocks import Clock, Clocks, clocks_of
from outpace.season.case import HouseCase
from outpace.season.money import money
from outpace.season.names import zone_of_farm
from outpace.season.released import OnTheWay, treated
from outpace.season.words import weekday
from outpace.simulation.model import Spray as Treatment
from outpace.terms.enemies import Lot, Pack
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Spray

Array = NDArray[np.float64]
Answer = dict[str, Any]

BEGINS = time(18)
LAST_MINUTE = time(23, 59)
LOT_DRAWS = 256
"""Draws of a lot that was not seen, for what it gives on average."""
FEWEST_SHOWN = 0.5
"""Of an enemy with fewer than this many animals nothing is said to be lost."""
FIGURES = {
    "kill_pest_share": to_say("the share of aphids it kills"),
    "kill_enemy_share": to_say("the share of enemies it kills"),
    "residual_enemy_share": to_say("the share of enemies its residue kills"),
    "residual_d": to_say("for how long it harms enemies"),
    "reentry_h": to_say("how long to keep out"),
    "harvest_interval_d": to_say("how long not to pick"),
}


@dataclass(frozen=True, slots=True)
class Figures:
    """What a person entered of a treatment, all of it optional; ``money`` is what it costs, work included."""

    kill_pest_share: float | None = None
    kill_enemy_share: float | None = None
    residual_enemy_share: float | None = None
    residual_d: float | None = None
    reentry_h: float | None = None
    harvest_interval_d: float | None = None
    money: float | None = None

    @property
    def lacks(self) -> list[str]:
        """Return in words what was not entered."""
        no_residue = self.residual_enemy_share == 0
        return [
            say(words)
            for name, words in FIGURES.items()
            if getattr(self, name) is None and not (name == "residual_d" and no_residue)
        ]


NOTHING_TOLD = Figures()


@dataclass(frozen=True)
class Considered:
    """A treatment of the house this evening, as the simulation draws it and as its clocks run.

    It is taken to last until midnight: a clock starts when the work has ended.
    """

    figures: Figures
    drawn: Treatment
    clocks: Clocks

    def meets(self, day: int, case: HouseCase) -> bool:
        """Return whether what is let go on a day meets it or its residue, or whether that is not known."""
        return day == case.today or self.clocks.release.holds(case.date_of(day), zone_of_farm(case.farm))


def considered(case: HouseCase, figures: Figures, key: str, members: int) -> Considered:
    """Return a treatment of the whole house this evening; what was not entered is drawn over all it could be."""
    zone = zone_of_farm(case.farm)
    row = Spray(
        spray=key,
        farm=case.farm.farm,
        house=case.house.house,
        start=datetime.combine(case.day, BEGINS, zone),
        end=datetime.combine(case.day, LAST_MINUTE, zone),
        reentry_h=figures.reentry_h,
        harvest_interval_d=figures.harvest_interval_d,
        kill_pest_share=figures.kill_pest_share,
        kill_enemy_share=figures.kill_enemy_share,
        residual_enemy_share=figures.residual_enemy_share,
        residual_d=figures.residual_d,
    )
    alone = Snapshot(as_of=case.snapshot.as_of, head=case.snapshot.head, rows={"sprays": (row,)})
    [drawn], _ = treated(
        alone, case.facts, case.farm, case.house, case.zones, case.day_of, members, case.seed
    )
    return Considered(figures, drawn, clocks_of(row, zone, bees_in=case.house.bees_in))


def waits(done: Considered, case: HouseCase) -> Answer:
    """Return until when nobody may enter, pick or release after it; None with what was not entered: danger."""
    zone = zone_of_farm(case.farm)

    def told(clock: Clock) -> Answer:
        until = None if clock.until is None else clock.until.astimezone(zone).isoformat(timespec="minutes")
        return {"until": until, "lacks": list(clock.lacks)}

    return {
        "enter": told(done.clocks.reentry),
        "pick": told(done.clocks.picking),
        "release": told(done.clocks.release),
        "bees": told(done.clocks.bees) if done.clocks.bees.applies else None,
    }


def released_anew(done: Considered, case: HouseCase) -> datetime | None:
    """Return from when enemies may be let go again, in UTC; None where nobody entered it."""
    until = done.clocks.release.until
    return None if until is None else until.astimezone(UTC)


def turned_away(done: Considered, case: HouseCase) -> list[OnTheWay]:
    """Return what is on its way and would meet the treatment or its residue."""
    return [
        item
        for item in case.let_go.coming
        if done.meets(max(int(case.day_of(item.release_date)), case.today), case)
    ]


def destroys(
    done: Considered,
    case: HouseCase,
    house: HouseOutlook,
    packs: Sequence[Pack],
    *,
    enemies_met: Array | float = 1.0,
    mummies_met: Array | float = 1.0,
) -> Answer:
    """Return what it kills at once of the enemies already paid for, and what buying as many again would cost.

    Parameters
    ----------
    enemies_met, mummies_met : array or float
        Share of adult enemies, and of mummies, that it reaches.
    """
    now = standing_now(house)
    adults = np.asarray(done.drawn.kill_enemy) * enemies_met
    inside = np.asarray(done.drawn.kill_mummies) * mummies_met
    rows: list[Answer] = []
    again, missing = 0.0, []
    for index, enemy in enumerate(case.model.enemies):
        females = now.females[0, index].sum(axis=0)
        mummies = now.mummies_closed[0, index].sum(axis=0)
        if max(float(females.mean()), float(mummies.mean())) < FEWEST_SHOWN:
            continue
        share = house.parameters.get("share_female", enemy=index)
        lost = females * adults + mummies * inside * share
        cost = _to_buy(case, packs, enemy, float(np.mean(lost)))
        if cost is None:
            missing.append(enemy)
        else:
            again += cost
        rows.append(
            {
                "enemy": enemy,
                "searching": _band(females),
                "searching_killed": _band(females * adults),
                "mummies": _band(mummies),
                "mummies_killed": _band(mummies * inside),
            }
        )
    for index, enemy in enumerate(case.model.predators):
        hunters = sum(now.predators[kind][0, index].sum(axis=0) for kind in ("larvae", "adults"))
        if float(np.mean(hunters)) < FEWEST_SHOWN:
            continue
        rows.append(
            {
                "enemy": enemy,
                "searching": _band(np.asarray(hunters)),
                "searching_killed": _band(hunters * adults),
                "mummies": None,
                "mummies_killed": None,
            }
        )
    return {
        "enemies": rows,
        "on_the_way": [
            {"enemy": item.line.enemy, "number": item.number, "release_date": str(item.release_date)}
            for item in turned_away(done, case)
        ],
        "paid": _paid(case),
        "to_buy_again": round(again, 2) if rows and not missing else None,
    }


def destroyed_words(told: Answer, case: HouseCase) -> str:
    """Return in one sentence what a treatment takes of the enemies already paid for."""
    parts = [
        say(
            "about {killed:.0f} (at most {most:.0f}) of about {there:.0f} searching {enemy}",
            killed=row["searching_killed"]["q50"],
            most=row["searching_killed"]["q95"],
            there=row["searching"]["q50"],
            enemy=case.facts.species[row["enemy"]].latin,
        )
        for row in told["enemies"]
    ]
    parts += [
        say(
            "the {number} {enemy} meant for {day}, who must go elsewhere",
            number=item["number"],
            enemy=case.facts.species[item["enemy"]].latin,
            day=weekday(item["release_date"]),
        )
        for item in told["on_the_way"]
    ]
    if not parts:
        return say("No enemies of yours are known to be there to lose.")
    taken = say("It takes {what}.", what=", ".join(parts))
    paid = told["paid"]
    if paid["money"]:
        taken += " " + say(
            "Enemies for this house cost {money} so far.",
            money=amount(paid["money"], case.farm.currency),
        )
    if told["to_buy_again"]:
        taken += " " + say(
            "As many again would cost about {money}.",
            money=amount(told["to_buy_again"], case.farm.currency),
        )
    return taken


def _band(values: Array) -> dict[str, float]:
    low, middle, high = (round(float(value), 1) for value in np.quantile(values, (0.05, 0.5, 0.95)))
    return {"q05": low, "q50": middle, "q95": high}


def _to_buy(case: HouseCase, packs: Sequence[Pack], enemy: str, females: float) -> float | None:
    """Return what so many females cost in whole packs of the cheapest kind on offer, one freight; None: no offer."""
    found = []
    for pack in packs:
        if pack.enemy != enemy:
            continue
        lot = Lot(
            lot=say("not seen"),
            enemy=enemy,
            form=pack.form,
            label_counts=pack.label_counts,
            labelled_number=pack.pack_size,
        )
        quality = lot_quality(case.facts, lot, (), LOT_DRAWS, case.seed)
        each = (
            pack.pack_size
            * quality.units_per_label
            * float(np.mean(quality.emergence * quality.share_female))
        )
        if each > 0:
            found.append(ceil(females / each - 1e-9) * pack.price + (pack.freight_per_parcel or 0.0))
    return min(found, default=None)


def _paid(case: HouseCase) -> Answer:
    """Return what enemies for this house cost since it was planted, what is on its way included."""
    first = case.house.planted or case.day - timedelta(days=365)
    last = max([case.day, *(item.line.delivery_date for item in case.let_go.coming)])
    told = money(case.snapshot, str(min(first, last)), str(last), farm=case.farm.farm)
    mine = next((row["goods"] for row in told["houses"] if row["house"] == case.house.house), 0.0)
    return {"money": round(mine, 2), "since": str(first), "unpriced_lines": len(told["unpriced"])}
