"""Banker plants: the wasps they give from day to day, when they end, and what they bring with them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from outpace.errors import ExitCode, OutpaceError
from outpace.estimation.hyperparasitoids import GENUS, drawn_share
from outpace.estimation.lot_quality import Beta
from outpace.facts.table import Fact, Facts, load, weakest
from outpace.language import say
from outpace.season.enter import Entered, key_from
from outpace.season.moments import moment
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.words import weekday
from outpace.simulation.draws import Luck, spread_over
from outpace.simulation.model import HouseModel, Release
from outpace.terms.enemies import Banker
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

CEREAL_APHID = "rhopalosiphum_padi"
RELIABLE = 2
SCHEMA = "outpace.banker/1"


@dataclass(frozen=True)
class Supply:
    """What the bankers of a house give, for the simulation, and the rows for people."""

    releases: tuple[Release, ...]
    told: tuple[dict[str, Any], ...]
    facts: tuple[Fact, ...]
    cautions: tuple[str, ...]


def bankers_of(snapshot: Snapshot, farm: Farm, house: House) -> tuple[Banker, ...]:
    """Return the bankers of a house in the order in which they were set out."""
    rows = [row for row in snapshot.table(Banker) if row.farm == farm.farm and row.house == house.house]
    return tuple(sorted(rows, key=lambda row: (row.set_out, row.banker)))


def banker_wasps(facts: Facts) -> tuple[str, ...]:
    """Return the wasps that live well on the cereal aphid of banker plants."""
    return tuple(
        key
        for key, species in facts.species.items()
        if species.guild == "wasp"
        and (match := facts.find(key, "host_match", other_species=CEREAL_APHID)) is not None
        and match.value >= RELIABLE
    )


def banker_supply(
    snapshot: Snapshot,
    facts: Facts,
    farm: Farm,
    house: House,
    *,
    enemies: Sequence[str],
    zones: Sequence[str],
    shares: Sequence[float],
    day_of: Callable[[Any], float],
    last_day: int,
    members: int,
    seed: int,
) -> Supply:
    """Return the adult wasps that bankers give, day by day, up to ``last_day``.

    Adults per plant and day, the days before the first, and the days they go on are drawn over what is practised: a
    plant is one pot. From the day of withdrawal they give none.
    """
    rows = bankers_of(snapshot, farm, house)
    wasps = [key for key in banker_wasps(facts) if key in enemies]
    if not rows or not wasps:
        return Supply((), (), (), cautions_of(facts) if rows else ())
    used = [facts.one("any_wasp", name) for name in ("banker_wasps", "banker_start", "banker_life")]
    luck = Luck(seed, members)
    rate, start, life = (
        np.maximum(spread_over(fact, luck.normal(f"banker.{fact.quantity}")), 0.0) for fact in used
    )
    releases: list[Release] = []
    told: list[dict[str, Any]] = []
    enemy = list(enemies).index(wasps[0])
    for row in rows:
        begins = float(np.floor(day_of(row.set_out)))
        ends = begins + start + life
        if row.withdrawn_on is not None:
            ends = np.minimum(ends, day_of(row.withdrawn_on))
        places = [zones.index(row.zone)] if row.zone in zones else list(range(len(zones)))
        for day in range(max(int(begins), 0), min(int(np.ceil(ends.max())), last_day)):
            part = np.clip(np.minimum(day + 1.0, ends) - np.maximum(float(day), begins + start), 0.0, 1.0)
            if not part.any():
                continue
            for place in places:
                plants = row.plants * (1.0 if row.zone in zones else shares[place])
                releases.append(
                    Release(
                        day + 0.5, enemy, place, plants * used[0].value, form="adults",
                        emergence=part * rate / used[0].value,
                    )
                )  # fmt: skip
        told.append({"banker": row.banker, "plants": row.plants})
    return Supply(tuple(releases), tuple(told), tuple(used), cautions_of(facts))


def with_hyperparasitoids_of(
    supply: Supply, model: HouseModel, facts: Facts, share: Beta | None, today: int, members: int, seed: int
) -> Supply:
    """Return what bankers give from today on, with the hyperparasitoids that come out of their mummies.

    They take the same share of the mummies on bankers as in the house, and the wasps that bankers are known to give are
    those that were left.
    """
    if share is None or not supply.releases:
        return supply
    taken = drawn_share(share, seed, members)
    females = facts.one(GENUS, "share_female")
    ratio = females.value * taken / (1.0 - taken)
    come = [
        replace(
            row,
            enemy=len(model.agents),
            emergence=ratio * (1.0 if row.emergence is None else row.emergence),
        )
        for row in supply.releases
        if row.day >= today
    ]
    return replace(supply, releases=(*supply.releases, *come), facts=(*supply.facts, females))


def cautions_of(facts: Facts) -> tuple[str, ...]:
    """Return what is told wherever bankers stand."""
    return (
        say(
            "Bankers carry a cereal aphid: keep them away from cereals, sweetcorn, grasses, lilies, onion "
            "and garlic, "
            "there it is a pest"
        ),
        say(
            "Bankers feed hyperparasitoids too: read {n:.0f} empty mummies a week, and withdraw them at "
            "the first "
            "ragged holes",
            n=facts.one("any_wasp", "banker_holes_to_read").value,
        ),
    )


def add_banker(
    snapshot: Snapshot,
    house: str,
    plants: int,
    *,
    set_out: str | None = None,
    zone: str | None = None,
    name: str | None = None,
    note: str | None = None,
    minutes: float | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return banker plants that were set out; ``minutes`` is what the work on them took."""
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    when = moment(set_out, zone_of_farm(there), where="`--set-out`", now=now)
    row = Banker(
        banker=name or key_from("banker", there.farm, place.house, when.isoformat(), str(plants)),
        farm=there.farm,
        house=place.house,
        zone=zone,
        set_out=when,
        plants=plants,
        minutes=minutes,
        note=note,
    )
    return Entered(
        [row],
        sentence=say(
            "Set out {plants} banker plants in {house} on {date}, as {banker}.",
            plants=plants,
            house=place.house,
            date=weekday(str(when.date())),
            banker=row.banker,
        ),
        cautions=cautions_of(load()),
    )


def withdraw_banker(
    snapshot: Snapshot,
    banker: str,
    *,
    on: str | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return banker plants that were taken out.

    Raises
    ------
    OutpaceError
        If no bankers have that name, or they were taken out before they were set out.
    """
    there = pick_farm(snapshot, farm)
    rows = {row.banker: row for row in snapshot.table(Banker) if row.farm == there.farm}
    if banker not in rows:
        raise OutpaceError(
            say("no bankers are called {banker!r}", banker=banker),
            allowed=", ".join(rows) or say("none are on record"),
            hint=say("see them with `outpace banker show HOUSE`"),
            code=ExitCode.USAGE,
        )
    row = rows[banker]
    when = moment(on, zone_of_farm(there), where="`--on`", now=now)
    if when < row.set_out:
        raise OutpaceError(
            say("they were set out later than that"),
            where="`--on`",
            hint=say("they stand since {set_out:%d %B}", set_out=row.set_out),
            code=ExitCode.USAGE,
        )
    gone = replace(row, withdrawn_on=when)
    return Entered(
        [gone],
        sentence=say(
            "Bankers {banker} of {house} are out since {date}.",
            banker=banker,
            house=row.house,
            date=weekday(str(when.date())),
        ),
        cautions=(say("Bag them and take them out of the house: what sits on them goes on flying"),),
    )


def bankers_answer(
    snapshot: Snapshot, house: str | None = None, *, farm: str | None = None, facts: Facts | None = None
) -> dict[str, Any]:
    """Return the bankers of a farm or a house as the answer ``outpace.banker/1``."""
    known = facts or load()
    there = pick_farm(snapshot, farm)
    places = (pick_house(snapshot, there, house),) if house else houses_of(snapshot, there)
    clock = zone_of_farm(there)
    today = snapshot.as_of.astimezone(clock).date()
    names = ("banker_wasps", "banker_start", "banker_life", "banker_renewal")
    wasps, start, life, renewal = (known.one("any_wasp", name) for name in names)
    out = known.one("any_wasp", "banker_withdrawal")
    told = []
    for place in places:
        for row in bankers_of(snapshot, there, place):
            day = row.set_out.astimezone(clock).date()
            gone = None if row.withdrawn_on is None else row.withdrawn_on.astimezone(clock).date()
            told.append(
                {
                    "banker": row.banker,
                    "house": place.house,
                    "zone": row.zone,
                    "plants": row.plants,
                    "set_out": str(day),
                    "wasps_from": [_later(day, start.low), _later(day, start.high)],
                    "wasps_until": [
                        _later(day, (start.low or 0.0) + (life.low or 0.0)),
                        _later(day, (start.high or 0.0) + (life.high or 0.0)),
                    ],
                    "wasps_per_day": [
                        round(row.plants * (wasps.low or 0.0)),
                        round(row.plants * (wasps.high or 0.0)),
                    ],
                    "renew_by": None if gone else _later(day, renewal.value),
                    "withdrawn_on": None if gone is None else str(gone),
                    "withdraw_by": None if gone else str(withdrawal_day(today, out.value, there.latitude)),
                }
            )
    used = (wasps, start, life, renewal, out)
    standing = [row for row in told if row["withdrawn_on"] is None]
    return {
        "schema": SCHEMA,
        "farm": there.farm,
        "as_of": snapshot.as_of.isoformat(timespec="seconds"),
        "bankers": told,
        "densities": [
            {
                "case": row.case,
                "low_per_1000_m2": row.low_per_1000_m2,
                "high_per_1000_m2": row.high_per_1000_m2,
                "source": row.source,
                "evidence": row.evidence,
            }
            for row in known.bankers
        ],
        "evidence_weakest": weakest(used),
        "cautions": list(cautions_of(known)) if told else [],
        "sentence": _sentence(standing, today),
    }


def _sentence(standing: Sequence[dict[str, Any]], today: date) -> str:
    if not standing:
        return say("No banker plants stand: nothing to renew or to take out.")
    first = min(standing, key=lambda row: min(row["renew_by"], row["withdraw_by"]))
    if first["withdraw_by"] <= max(first["renew_by"], str(today)):
        return say(
            "Take {plants} bankers out of {house} by {withdraw_by}.",
            plants=first["plants"],
            house=first["house"],
            withdraw_by=weekday(first["withdraw_by"]),
        )
    return say(
        "Renew {plants} bankers in {house} by {renew_by}.",
        plants=first["plants"],
        house=first["house"],
        renew_by=weekday(first["renew_by"]),
    )


def _later(day: date, days: float | None) -> str:
    return str(day + timedelta(days=round(days or 0.0)))


def withdrawal_day(today: date, day_of_year: float, latitude: float) -> date:
    """Return the next day by which bankers should be out; half a year later south of the equator."""
    shift = 0 if latitude >= 0 else round(365.25 / 2)
    place = round(day_of_year) + shift
    for year in (today.year - 1, today.year, today.year + 1):
        when = date(year, 1, 1) + timedelta(days=place - 1)
        if when >= today:
            return when
    return today
