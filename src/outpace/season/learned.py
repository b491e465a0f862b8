"""What a farm's counts have taught of its aphids, and keeping it for the next season."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from typing import Any

from outpace.errors import OutpaceError
from outpace.estimation.assimilation import LEARNABLE, NOT_LEARNED
from outpace.estimation.pooling import Taught, books_of, of_farm_and_crop, pooled
from outpace.facts.table import load
from outpace.language import say, say_many
from outpace.season.enter import Entered
from outpace.season.names import houses_of, pick_farm
from outpace.season.own_facts import name_of, season_of
from outpace.season.pooling import Alone, alone, carried
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import OwnFact

Answer = dict[str, Any]

NINETY = 1.645


def learned_answer(snapshot: Snapshot, farm: str | None = None) -> Answer:
    """Return what the houses of a farm have taught this season, by crop and aphid, as ``outpace.learned/1``."""
    there, facts = pick_farm(snapshot, farm), load()
    teachers = _teachers(snapshot, there)
    rows = []
    for crop, pest in _taught_of(teachers):
        for quantity in LEARNABLE:
            books = books_of(facts, pest, quantity)
            before = carried(snapshot, facts, there, crop, pest, quantity, _planted(teachers, crop))
            said = _said(teachers, pest, quantity)
            belief = pooled(before or books, crop, said, *of_farm_and_crop(facts))
            rows.append(
                {
                    "crop": crop,
                    "pest": pest,
                    "quantity": quantity,
                    "times": round(math.exp(belief.mean), 3),
                    "low": round(math.exp(belief.mean - NINETY * belief.sd), 3),
                    "high": round(math.exp(belief.mean + NINETY * belief.sd), 3),
                    "houses": len([each for each in said if each.crop == crop]),
                    "over_books_sd": round(belief.sd / books.sd, 2),
                    "learned": belief.sd / books.sd <= NOT_LEARNED,
                    "from_last_season": before is not None,
                }
            )
    ended = sum(each.ended is not None for each in teachers)
    return {
        "schema": "outpace.learned/1",
        "as_of": snapshot.as_of.isoformat(timespec="seconds"),
        "farm": there.farm,
        "sentence": _sentence(len(teachers), ended),
        "houses": len(teachers),
        "ended": ended,
        "rows": rows,
    }


def kept_rows(snapshot: Snapshot, farm: str | None = None) -> Entered:
    """Return the rows of own facts that carry what ended crops have taught into the next season.

    Raises
    ------
    OutpaceError
        If no crop with two walks or more has ended.
    """
    there, facts = pick_farm(snapshot, farm), load()
    teachers = [each for each in _teachers(snapshot, there) if each.ended is not None]
    if not teachers:
        raise OutpaceError(
            say("no crop that was walked has ended yet, so nothing can be kept"),
            where=say("farm {farm}", farm=there.farm),
            allowed=say("houses with two walks or more whose crop was taken out"),
            hint=say("tell the day with `outpace house NAME --removed DATE`, then keep"),
        )
    rows = []
    for crop, pest in _taught_of(teachers):
        for quantity in LEARNABLE:
            planted = _planted(teachers, crop)
            until = max(each.ended for each in teachers if each.crop == crop and each.ended is not None)
            before = carried(snapshot, facts, there, crop, pest, quantity, planted)
            said = _said(teachers, pest, quantity)
            books = books_of(facts, pest, quantity)
            belief = pooled(before or books, crop, said, *of_farm_and_crop(facts))
            earlier = [
                row
                for row in snapshot.table(OwnFact)
                if row.farm == there.farm
                and (row.species, row.crop) == (pest, crop or None)
                and (season := season_of(row.quantity)) is not None
                and season[0] == quantity
                and season[1] < until
            ]
            rows.append(
                OwnFact(
                    farm=there.farm,
                    species=pest,
                    crop=crop or None,
                    quantity=name_of(quantity, until),
                    value=round(belief.mean, 4),
                    sd=round(belief.sd, 4),
                    unit="1",
                    seasons=1 + len(earlier),
                )
            )
    return Entered(
        rows,
        say_many(
            "What the {n} crop that ended has taught is kept; the next season starts from it, wider and nearer "
            "the books.",
            "What the {n} crops that ended have taught is kept; the next season starts from it, wider and "
            "nearer the books.",
            len(teachers),
        ),
    )


def _planted(teachers: Sequence[Alone], crop: str) -> date:
    """Return when the first of the houses of a crop was planted."""
    return min(each.planted for each in teachers if each.crop == crop)


def _teachers(snapshot: Snapshot, farm: Farm) -> list[Alone]:
    found = (alone(snapshot, farm, house) for house in houses_of(snapshot, farm))
    return [each for each in found if each is not None]


def _taught_of(teachers: Sequence[Alone]) -> list[tuple[str, str]]:
    """Return each crop and aphid that was walked, in a fixed order."""
    return sorted({(each.crop, pest) for each in teachers for pest, _ in each.taught})


def _said(teachers: Sequence[Alone], pest: str, quantity: str) -> list[Taught]:
    return [each.taught[(pest, quantity)] for each in teachers if (pest, quantity) in each.taught]


def _sentence(houses: int, ended: int) -> str:
    if not houses:
        return say("No house has two walks of this crop yet, so the farm has taught nothing: walk each week.")
    keep = say("; keep what {ended} ended with `outpace facts learned --keep`", ended=ended) if ended else ""
    return say_many(
        "What the walks of {n} house have taught of the aphids of this farm{keep}.",
        "What the walks of {n} houses have taught of the aphids of this farm{keep}.",
        houses,
        keep=keep,
    )
