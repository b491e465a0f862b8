"""The walks of one house, turned from rows of the book into what the estimate reads."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.observations import (
    WHOLE_HOUSE,
    LineSeen,
    Seen,
    WalkBuilder,
    interval_of,
    of_enemies_by_colour,
)
from outpace.facts.table import Facts, load
from outpace.season.indexed import indexed, of_house
from outpace.terms.place import Farm, House
from outpace.terms.scouting import PESTS_UNNAMED, Count, Mummies, Walk, WalkLine
from outpace.terms.scouting import Seen as Sighting
from outpace.terms.tables import Snapshot

OfWalk = TypeVar("OfWalk", Count, Mummies, WalkLine)

IN_JAR, FROM_JAR = "in jar", "from jar"
WASPS = ("wasp", "wasps")
HYPERPARASITOIDS = (
    "hyperparasitoid",
    "hyperparasitoids",
    "dendrocerus",
    "asaphes",
    "alloxysta",
    "pachyneuron",
)
"""Words by which what came out of a jar is written down; genera of those that come out of aphid mummies."""
UNKNOWN = "unknown_aphid"
ANY = "any"


@dataclass(frozen=True)
class CropJar:
    """Closed mummies that were taken on a walk and kept in a dry jar, and what came out of them.

    In the table ``seen``: ``mummies`` ``in jar`` (how many were put in), and ``from jar`` the ``wasps`` and the
    ``hyperparasitoids`` that came out, by these words or by the name of a species.
    """

    put_in: int | None
    wasps: int
    hyperparasitoids: int

    @property
    def came_out(self) -> int:
        return self.wasps + self.hyperparasitoids


@dataclass(frozen=True)
class HouseWalks:
    """The rows of one house's walks, oldest first."""

    walks: tuple[Walk, ...]
    counts: dict[str, tuple[Count, ...]]
    mummies: dict[str, tuple[Mummies, ...]]
    lines: dict[str, tuple[WalkLine, ...]]
    jars: dict[str, CropJar] = field(default_factory=dict)
    """By walk: what came out of mummies that were taken home from it."""

    @property
    def last(self) -> Walk | None:
        """Return the latest walk that says something of aphids."""
        told = [walk for walk in self.walks if self.counts.get(walk.walk) or self.lines.get(walk.walk)]
        return told[-1] if told else None


def walks_of(
    snapshot: Snapshot, farm: Farm, house: House, since: date | None = None, *, until: datetime | None = None
) -> HouseWalks:
    """Return the rows of one house's walks, of this crop where its planting date is known, up to a moment."""
    walks = sorted(
        (
            walk
            for walk in of_house(snapshot, Walk, farm, house)
            if (since is None or walk.time.date() >= since) and (until is None or walk.time <= until)
        ),
        key=lambda walk: (walk.time, walk.walk),
    )
    mine = {walk.walk for walk in walks}
    return HouseWalks(
        tuple(walks),
        _of_walks(snapshot.table(Count), mine),
        _of_walks(snapshot.table(Mummies), mine),
        _of_walks(snapshot.table(WalkLine), mine),
        crop_jars(snapshot.table(Sighting), mine),
    )


def crop_jars(rows: Sequence[Sighting], mine: set[str]) -> dict[str, CropJar]:
    """Return by walk what came out of jars of its mummies; a jar of which nothing is counted yet is left out."""
    put_in: Counter[str] = Counter()
    out: dict[str, Counter[str]] = defaultdict(Counter)
    for row in rows:
        stage = (row.stage or "").strip().lower()
        if row.walk not in mine or row.number is None or stage not in (IN_JAR, FROM_JAR):
            continue
        name = row.organism.strip().lower()
        if stage == IN_JAR:
            put_in[row.walk] += row.number
        elif name in HYPERPARASITOIDS:
            out[row.walk]["hyperparasitoids"] += row.number
        elif name in WASPS or guild_of(name) == "wasp":
            out[row.walk]["wasps"] += row.number
    return {
        walk: CropJar(put_in[walk] or None, found["wasps"], found["hyperparasitoids"])
        for walk, found in out.items()
    }


def guild_of(name: str) -> str | None:
    """Return the guild of a species by its identifier; None where there is no such species."""
    species = load().species.get(name.replace(" ", "_"))
    return None if species is None else species.guild


def pests_seen(walks: HouseWalks) -> tuple[str, ...]:
    """Return the aphids found in the house, most often found first; those not named count as one unknown."""
    found: Counter[str] = Counter()
    for rows in walks.counts.values():
        for row in rows:
            if interval_of(row.aphids)[1] > 0:
                found[row.pest] += 1
    for lines in walks.lines.values():
        for line in lines:
            if line.infested:
                found[line.pest] += line.infested
    named = Counter({pest: n for pest, n in found.items() if pest not in PESTS_UNNAMED})
    unnamed = sum(n for pest, n in found.items() if pest in PESTS_UNNAMED and pest != ANY)
    if unnamed or (found[ANY] and not named):
        named[UNKNOWN] += unnamed + found[ANY]
    return tuple(pest for pest, _ in named.most_common())


def seen(
    walks: HouseWalks,
    facts: Facts,
    pests: Sequence[str],
    enemies: Sequence[str],
    zones: Sequence[str],
    day_of: dict[str, float],
) -> tuple[Seen, ...]:
    """Return the walks as the estimate reads them.

    A unit on which any aphid was written down was looked at for all; "any" aphids with a number go to the aphid found
    most often. A walk without rows says nothing.

    Parameters
    ----------
    day_of : dict
        Day of each walk since day 0.
    """
    colours = of_enemies_by_colour([facts.species[enemy].mummy_colour for enemy in enemies])
    names = list(colours)
    place = {name: index for index, name in enumerate(zones)}
    found: list[Seen] = []
    for walk in walks.walks:
        day = day_of[walk.walk]
        counts = walks.counts.get(walk.walk, ())
        if counts:
            builder = WalkBuilder(
                day, walk.unit, walk.chosen, len(pests), tuple(colours[name] for name in names)
            )
            by_unit: dict[int, list[Count]] = defaultdict(list)
            for row in counts:
                by_unit[row.unit_no].append(row)
            shells: dict[int, list[Mummies]] = defaultdict(list)
            for mummy in walks.mummies.get(walk.walk, ()):
                shells[mummy.unit_no].append(mummy)
            for unit in sorted(by_unit.keys() | shells.keys()):
                rows = by_unit.get(unit, [])
                builder.add(
                    _intervals(rows, pests),
                    zone=next((place[r.zone] for r in rows if r.zone in place), _only(zones)),
                    plant=next((_plant_number(r.plant) for r in rows if r.plant), None),
                    mummies={
                        names.index(m.colour): (_number(m.closed), _empty(m))
                        for m in shells.get(unit, [])
                        if m.colour in names
                    },
                )
            found.append(builder.seen())
        found.extend(_lines(walks.lines.get(walk.walk, ()), walk, day, pests, zones))
    return tuple(sorted(found, key=lambda item: item.day))


def means_by_walk(
    walks: HouseWalks, pests: Sequence[str], local_date: dict[str, str]
) -> list[dict[str, object]]:
    """Return for charts each walk's mean count with a plain 90 % range, its finds and mummies.

    The range is that of a mean of clumped counts, mean ± 1.645 standard errors on the square-root scale.
    """
    told: list[dict[str, object]] = []
    for walk in walks.walks:
        counts = walks.counts.get(walk.walk, ())
        lines = walks.lines.get(walk.walk, ())
        if not counts and not lines:
            continue
        mummies = sum(m.closed or 0 for m in walks.mummies.get(walk.walk, ()))
        units = {row.unit_no for row in counts}
        for index, pest in enumerate(pests):
            if counts:
                by_unit = dict.fromkeys(units, 0.0)
                for row in counts:
                    if _pest_index(row.pest, pests) == index:
                        by_unit[row.unit_no] += _middle(*interval_of(row.aphids))
                values = np.array(list(by_unit.values()))
                looked_at, infested = len(values), int((values > 0).sum())
            else:
                mine = [line for line in lines if line.pest == ANY or _pest_index(line.pest, pests) == index]
                if not mine:
                    continue
                looked_at = max(line.looked_at for line in mine)
                infested = sum(line.infested for line in mine)
                about = sum(
                    line.aphids_about if line.aphids_about is not None else line.infested for line in mine
                )
                mummies = sum(line.mummies_about or 0 for line in mine)
                values = np.zeros(looked_at)
                values[:infested] = about / max(infested, 1)
            low, high = _range(values)
            told.append(
                {
                    "date": local_date[walk.walk],
                    "unit": walk.unit,
                    "pest": pest,
                    "mean": round(float(values.mean()), 3),
                    "low": round(low, 3),
                    "high": round(high, 3),
                    "looked_at": looked_at,
                    "infested": infested,
                    "mummies": mummies,
                    "hunted": walk.chosen == "hunted",
                }
            )
    return told


def ragged_holes(walks: HouseWalks, since: datetime) -> tuple[int, int]:
    """Return how many empty tan mummies with a readable hole were seen since a moment, and how many were ragged."""
    recent = [walk.walk for walk in walks.walks if walk.time >= since]
    rows = [m for walk in recent for m in walks.mummies.get(walk, ()) if m.colour == "tan"]
    smooth = sum(m.empty_smooth or 0 for m in rows)
    ragged = sum(m.empty_ragged or 0 for m in rows)
    return smooth + ragged, ragged


def _of_walks(rows: tuple[OfWalk, ...], mine: set[str]) -> dict[str, tuple[OfWalk, ...]]:
    return {walk: each for walk, each in indexed(rows, "walk").items() if walk in mine}


def _pest_index(pest: str, pests: Sequence[str]) -> int | None:
    if pest in pests:
        return list(pests).index(pest)
    if pest in PESTS_UNNAMED:
        if pest != ANY and UNKNOWN in pests:
            return list(pests).index(UNKNOWN)
        return 0
    return None


def _intervals(rows: Sequence[Count], pests: Sequence[str]) -> dict[int, tuple[float, float]]:
    if not rows:
        return {}
    found = dict.fromkeys(range(len(pests)), (0.0, 0.0))
    for row in rows:
        index = _pest_index(row.pest, pests)
        low, high = interval_of(row.aphids)
        if index is not None and high > 0:
            found[index] = (found[index][0] + low, found[index][1] + high)
    return found


def _lines(
    lines: Sequence[WalkLine], walk: Walk, day: float, pests: Sequence[str], zones: Sequence[str]
) -> list[LineSeen]:
    told: dict[int, LineSeen] = {}
    looked_at = max((line.looked_at for line in lines), default=0)
    for line in lines:
        index = _pest_index(line.pest, pests)
        if index is not None and (line.infested or line.pest != ANY):
            told[index] = LineSeen(
                day,
                index,
                line.looked_at,
                min(line.infested, line.looked_at),
                None if line.aphids_about is None else float(line.aphids_about),
                None if line.mummies_about is None else float(line.mummies_about),
                walk.unit,
                _only(zones),
                walk.chosen,
            )
    for index in range(len(pests)) if looked_at else ():
        told.setdefault(
            index, LineSeen(day, index, looked_at, 0, 0.0, None, walk.unit, _only(zones), walk.chosen)
        )
    return [told[index] for index in sorted(told)]


def _only(zones: Sequence[str]) -> int:
    return 0 if len(zones) == 1 else WHOLE_HOUSE


def _plant_number(name: str) -> int:
    value = 0
    for byte in name.encode():
        value = (value * 131 + byte) % (2**31 - 1)
    return value


def _number(value: int | None) -> float:
    return np.nan if value is None else float(value)


def _empty(row: Mummies) -> float:
    told = [n for n in (row.empty_smooth, row.empty_ragged, row.empty_unread) if n is not None]
    return float(sum(told)) if told else np.nan


def _middle(low: float, high: float) -> float:
    if np.isinf(high):
        return 1.5 * low
    return float(np.sqrt(low * high)) if low else high / 2


def _range(values: NDArray[np.float64]) -> tuple[float, float]:
    mean = float(values.mean())
    if mean == 0:
        # nothing found: one-sided 95 % limit of a Poisson mean, 3 in n
        return 0.0, 3.0 / len(values)
    error = float(values.std(ddof=1)) / np.sqrt(len(values)) if len(values) > 1 else mean
    half = 1.645 * max(error, np.sqrt(mean / len(values))) / (2 * np.sqrt(mean))
    return float(max(np.sqrt(mean) - half, 0.0) ** 2), float((np.sqrt(mean) + half) ** 2)


def taken_signs(walks: HouseWalks, since: datetime) -> tuple[int, int]:
    """Return how many mummies told since a moment whether a hyperparasitoid had taken them, and how many it had.

    A hole that could be read tells, and so does an animal that came out of a jar of the crop's own mummies.
    """
    read, ragged = ragged_holes(walks, since)
    jars = [walks.jars[walk.walk] for walk in walks.walks if walk.time >= since and walk.walk in walks.jars]
    return read + sum(jar.came_out for jar in jars), ragged + sum(jar.hyperparasitoids for jar in jars)
