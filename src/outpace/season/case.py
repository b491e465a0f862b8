"""One house with all that is known of it on a day, in the terms of the science."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from outpace.estimation.cards import CardSeen
from outpace.estimation.hyperparasitoids import GENUS
from outpace.estimation.lot_quality import Beta
from outpace.estimation.observations import Seen
from outpace.facts.table import Fact, Facts, load
from outpace.language import say
from outpace.season.bankers import banker_supply, banker_wasps, bankers_of, with_hyperparasitoids_of
from outpace.season.card_readings import card_readings
from outpace.season.crop_ahead import WHOLE_HOUSE as WHOLE_HOUSE
from outpace.season.crop_ahead import crop_days, stages_of, strips, zone_specs
from outpace.season.hyper_signs import Signs, share_before_holes, signs_of, taken
from outpace.season.indexed import of_house
from outpace.season.levels import Level, level_of
from outpace.season.names import houses_of, zone_of_farm
from outpace.season.observed import UNKNOWN, HouseWalks, pests_seen, seen, walks_of
from outpace.season.own_facts import with_own_facts
from outpace.season.released import LetGo, enemies_let_go, let_go, treated
from outpace.season.temperature import HouseTemperature, house_temperature
from outpace.simulation.model import FLOORS, HouseModel, Spray
from outpace.terms.enemies import Pack, Release
from outpace.terms.place import Climate, Farm, House
from outpace.terms.scouting import Seen as Sighting
from outpace.terms.tables import Snapshot

MEMBERS = 1024
LAID_OUT_D = 49
"""Days of temperature ahead: the horizon of a verdict may reach past the days that are shown."""
LONGEST_PAST = 150
"""Days before today that are simulated at most."""
HUMIDITY_D = 14
"""Days over which the humidity of the air says how damp a floor is."""
SOFT, _, COVERED = FLOORS
FLOOR_OF = {"soil": SOFT, "concrete": COVERED, "fabric": COVERED, "mulch": COVERED}
"""What midge larvae drop on."""


@dataclass(frozen=True)
class HouseCase:
    """What a forecast or a plan of one house starts from.

    Days are counted from ``first_day``; ``today`` is the index of the day of ``now``, which has the farm's time zone.
    """

    snapshot: Snapshot
    farm: Farm
    house: House
    facts: Facts
    now: datetime
    first_day: date
    today: int
    model: HouseModel
    rows: HouseWalks
    walks: tuple[Seen, ...]
    cards: tuple[CardSeen, ...]
    temperature: HouseTemperature
    let_go: LetGo
    sprays: tuple[Spray, ...]
    levels: tuple[Level, ...]
    seed: int
    members: int
    found: bool
    cautions: tuple[str, ...]
    signs: Signs
    hyper_share: Beta | None
    hyper_facts: tuple[Fact, ...]

    @property
    def day(self) -> date:
        """Return today's date on the farm."""
        return self.now.date()

    @property
    def zones(self) -> tuple[str, ...]:
        """Return the names of the zones."""
        return tuple(zone.name for zone in self.model.zones)

    def day_of(self, moment: datetime | date) -> float:
        """Return the days since day 0 of a moment, or of the midnight that begins a date."""
        return _days(moment, self.first_day, self.farm)

    def date_of(self, day: int) -> date:
        """Return the date of a day index."""
        return self.first_day + timedelta(days=day)


def house_case(
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    *,
    facts: Facts | None = None,
    days: int = LAID_OUT_D,
    members: int = MEMBERS,
    other: int = 0,
) -> HouseCase:
    """Return a house as it is known by the snapshot.

    Parameters
    ----------
    days : int
        How far ahead temperature is laid out.
    other : int
        Another number draws other members.
    """
    known = with_own_facts(snapshot, farm, facts or load())
    now = snapshot.as_of.astimezone(zone_of_farm(farm))
    rows = walks_of(snapshot, farm, house, house.planted)
    first_day = _first_day(snapshot, farm, house, rows, now.date())
    today = (now.date() - first_day).days
    pests = pests_seen(rows)
    found = bool(pests)
    if not found:
        # What is found elsewhere today tells of this house from tomorrow on, as all that houses teach each other.
        midnight = datetime.combine(now.date(), time(), tzinfo=now.tzinfo)
        others = [
            pest
            for other in houses_of(snapshot, farm)
            for pest in pests_seen(walks_of(snapshot, farm, other, other.planted, until=midnight))
        ]
        pests = tuple(dict.fromkeys(others))[:1] or (UNKNOWN,)

    def day_of(moment: Any) -> float:
        return _days(moment, first_day, farm)

    bankers = bankers_of(snapshot, farm, house)
    signs = signs_of(known, farm, house, rows, bankers, now)
    model, cautions = _model(snapshot, farm, house, known, pests, now, rows, first_day, day_of, signs)
    names = tuple(zone.name for zone in model.zones)
    shares = [float(zone.plants / model.plants.sum()) for zone in model.zones]
    seed = seed_of(farm, house) + other

    released = let_go(
        snapshot,
        known,
        farm,
        house,
        enemies=model.agents,
        zones=names,
        shares=shares,
        day_of=day_of,
        today=today,
        members=members,
        seed=seed,
    )
    temperature = house_temperature(
        snapshot, known, farm, house, first_day, now, days, members, kept=facts is None
    )
    hyper_share: Beta | None = None
    hyper_facts: tuple[Fact, ...] = ()
    if model.hyperparasitoids:
        before = share_before_holes(known, farm, house, signs, now.date(), temperature.hours, today)
        hyper_share, hyper_facts = taken(known, before, signs)
    supply = banker_supply(
        snapshot,
        known,
        farm,
        house,
        enemies=model.enemies,
        zones=names,
        shares=shares,
        day_of=day_of,
        last_day=today + days,
        members=members,
        seed=seed,
    )
    with_them = with_hyperparasitoids_of(supply, model, known, hyper_share, today, members, seed)
    released = dataclasses.replace(
        released,
        releases=(*released.releases, *with_them.releases),
        facts=(*released.facts, *with_them.facts),
        cautions=(*released.cautions, *with_them.cautions),
    )
    sprays, spray_cautions = treated(snapshot, known, farm, house, names, day_of, members, seed)
    return HouseCase(
        snapshot=snapshot,
        farm=farm,
        house=house,
        facts=known,
        now=now,
        first_day=first_day,
        today=today,
        model=model,
        rows=rows,
        walks=seen(
            rows,
            known,
            model.pests,
            model.enemies,
            names,
            {walk.walk: day_of(walk.time) for walk in rows.walks},
        ),
        cards=card_readings(snapshot, farm, house, names, day_of),
        temperature=temperature,
        let_go=released,
        sprays=sprays,
        levels=tuple(level_of(snapshot, known, house, pest, now.date()) for pest in model.pests),
        seed=seed,
        members=members,
        found=found,
        cautions=(*cautions, *released.cautions, *spray_cautions),
        signs=signs,
        hyper_share=hyper_share,
        hyper_facts=hyper_facts,
    )


def seed_of(farm: Farm, house: House) -> int:
    """Return the seed of a house: always the same, another for each house."""
    digest = hashlib.sha256(f"{farm.farm}\0{house.house}".encode()).digest()
    return int.from_bytes(digest[:4], "big")


def _days(moment: datetime | date, first_day: date, farm: Farm) -> float:
    if isinstance(moment, datetime):
        local = moment.astimezone(zone_of_farm(farm)).replace(tzinfo=None)
        return (local - datetime.combine(first_day, time())).total_seconds() / 86400
    return float((moment - first_day).days)


def _first_day(snapshot: Snapshot, farm: Farm, house: House, rows: HouseWalks, today: date) -> date:
    zone = zone_of_farm(farm)
    starts = [walk.time.astimezone(zone).date() for walk in rows.walks]
    starts += [
        row.time.astimezone(zone).date()
        for row in of_house(snapshot, Release, farm, house)
        if (house.planted is None or row.time.date() >= house.planted)
    ]
    earliest = today - timedelta(days=LONGEST_PAST)
    return max(min([*starts, today]), earliest)


def _model(
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    facts: Facts,
    pests: tuple[str, ...],
    now: datetime,
    rows: HouseWalks,
    first_day: date,
    day_of: Callable[[Any], float],
    signs: Signs,
) -> tuple[HouseModel, list[str]]:
    cautions: list[str] = []
    crop = facts.resolve_crop(house.crop)
    if crop is None:
        cautions.append(
            say(
                "{crop} is not in the facts: leaves and aphid growth are those of no crop in particular",
                crop=house.crop,
            )
        )
    book_leaves = facts.one("", "leaves_per_plant", crop=crop or "").value
    leaves = house.leaves_per_plant
    stages = stages_of(snapshot, farm, house, now)
    leaves = next((row.leaves_per_plant for row in reversed(stages) if row.leaves_per_plant), leaves)
    leaf_area = facts.one("", "leaf_area_per_plant", crop=crop or "").value
    enemies = [*enemies_let_go(snapshot, farm, house), *(pack.enemy for pack in snapshot.table(Pack))]
    if bankers_of(snapshot, farm, house):
        enemies += banker_wasps(facts)
    wasps = {key for key in enemies if facts.species[key].guild == "wasp"}
    predators = set(enemies) - wasps
    if house.floor is None and any(facts.species[key].guild == "midge" for key in predators):
        cautions.append(
            say("The floor of the house is not told: whether midges find soil to pupate in is left open")
        )
    ants = _ants(snapshot, rows, now)
    if ants:
        cautions.append(
            say(
                "Ants were seen in the last four weeks: enemies find less. Bait or barrier first, releases "
                "away from them"
            )
        )
    return (
        HouseModel(
            crop=crop or "",
            zones=zone_specs(snapshot, facts, house),
            pests=pests,
            enemies=tuple(sorted(wasps)),
            predators=tuple(sorted(predators)),
            hyperparasitoids=(GENUS,) if wasps and signs.any else (),
            floor=FLOOR_OF.get(house.floor or ""),
            humidity=_humidity(snapshot, farm, house, now) if predators else None,
            latitude=farm.latitude,
            day_of_year=first_day.timetuple().tm_yday,
            ants=ants,
            leaves_per_plant=leaves or book_leaves,
            shoots_per_plant=facts.one("", "shoots_per_plant", crop=crop or "").value,
            leaf_area_m2=leaf_area * (leaves or book_leaves) / book_leaves,
            vent_area_m2=house.vent_area_m2,
            crop_days=crop_days(stages, leaves or book_leaves, day_of),
            strips=strips(stages, house, day_of),
            length_m=house.length_m,
        ),
        cautions,
    )


def _ants(snapshot: Snapshot, rows: HouseWalks, now: datetime) -> bool:
    """Return whether a walk of the last four weeks met ants."""
    recent = {walk.walk for walk in rows.walks if walk.time >= now - timedelta(days=28)}
    return any(
        row.walk in recent and row.organism.strip().lower() in ("ant", "ants") and row.number != 0
        for row in snapshot.table(Sighting)
    )


def _humidity(snapshot: Snapshot, farm: Farm, house: House, now: datetime) -> float | None:
    """Return the mean humidity of the air in the house over the last two weeks, None without a record. [%]"""
    since = now - timedelta(days=HUMIDITY_D)
    found = [
        row.humidity_pct
        for row in of_house(snapshot, Climate, farm, house)
        if row.humidity_pct is not None and row.place != "outside" and since <= row.time <= now
    ]
    return sum(found) / len(found) if found else None
