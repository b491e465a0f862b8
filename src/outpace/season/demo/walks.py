"""The invented scouting rounds: one house a story.

The long tunnel is winning, the big glasshouse was winning until ragged holes came, the south house bought a wasp that
does not take its aphid, the berry tunnel was not walked for twelve days, the salad house never had a find.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from outpace.season.demo.calendar import Season
from outpace.season.demo.counting import Course, as_counted, draw
from outpace.season.demo.place import (
    AUBERGINE,
    CUCUMBER,
    FARM,
    LETTUCE,
    MACROSIPHUM,
    MYZUS,
    PEPPER,
    STRAWBERRY,
)
from outpace.terms.scouting import Card, Count, Mummies, Seen, Walk, WalkLine

SEED = 7
SCOUT = "scout (invented)"

#: Days ago of the weekly rounds.
ROUNDS = (50, 43, 36, 29, 22, 15, 8, 1)


@dataclass(frozen=True, slots=True)
class Story:
    """What grows in a house: live aphids, closed mummies and empty shells per unit, and the ragged share."""

    house: str
    pest: str
    unit: str
    units: int
    start_hour: int
    aphids: Course
    closed: Course = Course(())
    empty: Course = Course(())
    ragged: Course = Course(())
    zones: tuple[str, ...] = ()


WINNING = Story(
    PEPPER,
    MYZUS,
    "leaf",
    40,
    9,
    aphids=Course(
        ((50, 0.03), (43, 0.14), (36, 0.55), (29, 1.6), (22, 2.2), (15, 1.2), (8, 0.45), (1, 0.15))
    ),
    closed=Course(((29, 0.05), (22, 0.5), (15, 1.0), (8, 0.9), (1, 0.5))),
    empty=Course(((22, 0.05), (15, 0.4), (8, 0.9), (1, 1.1))),
    ragged=Course(((15, 0.02), (1, 0.03))),
)
RAGGED = Story(
    CUCUMBER,
    MYZUS,
    "leaf",
    50,
    10,
    aphids=Course(((50, 0.3), (43, 0.7), (36, 1.1), (29, 0.9), (22, 0.55), (15, 0.45), (8, 0.6), (1, 0.95))),
    closed=Course(((43, 0.02), (36, 0.25), (29, 0.6), (22, 0.7), (15, 0.6), (8, 0.5), (1, 0.4))),
    empty=Course(((29, 0.1), (22, 0.4), (15, 0.7), (8, 0.9), (1, 1.0))),
    ragged=Course(((22, 0.03), (15, 0.12), (8, 0.3), (1, 0.42))),
    zones=("north bay", "south bay"),
)
LOSING = Story(
    AUBERGINE,
    MACROSIPHUM,
    "leaf",
    60,
    8,
    aphids=Course(((15, 0.01), (8, 0.035), (1, 0.13))),
)

#: Rounds of the berry tunnel that were told in one line: days ago, looked at, with aphids, about, mummies.
BERRY_LINES = (
    (40, 30, 0, 0, None),
    (33, 30, 0, 0, 0),
    (26, 30, 0, 0, 0),
    (19, 30, 0, 0, 0),
    (12, 30, 1, 3, 0),
)


def walk_rows(season: Season) -> list[tuple[datetime, list[Any]]]:
    """Return every round with the moment it was written down."""
    found = []
    for number, story in enumerate((WINNING, RAGGED, LOSING)):
        found += [_round(season, story, ago, number) for ago in ROUNDS]
    found += [_berry(season, *line) for line in BERRY_LINES]
    found += [_salad(season, ago) for ago in ROUNDS if ago <= 43]
    found.append(_card(season))
    return found


def _name(season: Season, house: str, ago: int) -> str:
    return f"{house.lower().replace(' ', '-')}-{season.day(ago):%Y%m%d}"


def _round(season: Season, story: Story, ago: int, number: int) -> tuple[datetime, list[Any]]:
    time = season.at(ago, story.start_hour)
    name = _name(season, story.house, ago)
    units = story.units
    aphids = draw(story.aphids, ago, units, (SEED, number, 1))
    closed = draw(story.closed, ago, units, (SEED, number, 2))
    empty = draw(story.empty, ago, units, (SEED, number, 3))
    random = np.random.default_rng([SEED, number, 4, ago])
    looked_for_mummies = story.closed.mean(ago) > 0 or story is LOSING
    rows: list[Any] = [
        Walk(
            walk=name,
            farm=FARM,
            house=story.house,
            time=time,
            scout=SCOUT,
            unit=story.unit,
            chosen="random",
            leaf_position="middle",
            looked_at=units,
            minutes=float(round(units * 0.9)),
            finished=True,
        )
    ]
    for at in range(units):
        zone = story.zones[at * len(story.zones) // units] if story.zones else None
        rows.append(
            Count(
                walk=name,
                unit_no=at + 1,
                pest=story.pest if aphids[at] else "any",
                zone=zone,
                plant=f"{at // 2 + 1}",
                aphids=as_counted(aphids[at]),
                confidence="sure" if aphids[at] else None,
            )
        )
        if looked_for_mummies:
            ragged = int(random.binomial(empty[at], min(story.ragged.mean(ago), 1.0))) if empty[at] else 0
            rows.append(
                Mummies(
                    walk=name,
                    unit_no=at + 1,
                    colour="tan",
                    closed=closed[at],
                    empty_smooth=empty[at] - ragged,
                    empty_ragged=ragged,
                )
            )
    if story is WINNING and ago == 15:
        rows.append(Seen(walk=name, unit_no=5, organism="hoverfly", stage="larva", number=1))
    return time, rows


def _berry(
    season: Season, ago: int, looked_at: int, infested: int, about: int, mummies: int | None
) -> tuple[datetime, list[Any]]:
    time = season.at(ago, 11)
    name = _name(season, STRAWBERRY, ago)
    line = WalkLine(
        walk=name,
        pest=MACROSIPHUM if infested else "any",
        looked_at=looked_at,
        infested=infested,
        aphids_about=about,
        mummies_about=mummies,
    )
    return time, [_plain_walk(name, STRAWBERRY, time, looked_at), line]


def _salad(season: Season, ago: int) -> tuple[datetime, list[Any]]:
    time = season.at(ago, 7, 30)
    name = _name(season, LETTUCE, ago)
    line = WalkLine(walk=name, pest="any", looked_at=40, infested=0, aphids_about=0, mummies_about=0)
    return time, [_plain_walk(name, LETTUCE, time, 40), line]


def _plain_walk(name: str, house: str, time: datetime, looked_at: int) -> Walk:
    return Walk(
        walk=name,
        farm=FARM,
        house=house,
        time=time,
        scout=SCOUT,
        unit="plant",
        chosen="random",
        looked_at=looked_at,
        minutes=12.0,
        finished=True,
    )


def _card(season: Season) -> tuple[datetime, list[Any]]:
    time = season.at(12, 11, 30)
    card = Card(
        farm=FARM, house=STRAWBERRY, card="door card", hung=season.at(19, 11, 30), time=time, winged=3
    )
    return time, [card]
