"""What a farm's crops are worth to it: figures of its own that no book holds, kept among its own facts.

``crop_value`` is what a square metre of the crop still standing will bring; ``loss_above_level`` what a square metre
loses in a day for each aphid, in the unit of the action level, above that level.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from outpace.currency import money_rate
from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import Facts, load
from outpace.language import say
from outpace.measures import per_area
from outpace.season.enter import Entered
from outpace.season.names import houses_of, pick_farm
from outpace.season.own_facts import FARM_FIGURES
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import OwnFact

VALUE, LOSS = FARM_FIGURES
ANY_APHID = "any"


@dataclass(frozen=True, slots=True)
class Worth:
    """What the farm told of a crop; None where it did not.

    ``value`` is in its money per m², ``loss`` in its money per m², day and aphid in the unit of the level.
    """

    value: float | None = None
    loss: float | None = None


def worth_of(snapshot: Snapshot, farm: Farm, crop: str, facts: Facts | None = None) -> Worth:
    """Return what the farm told of a crop; a row without a crop holds for all that have none of their own."""
    known = facts or load()
    wanted = _crop(known, crop)
    told: dict[str, float] = {}
    rows = [row for row in snapshot.table(OwnFact) if row.farm == farm.farm and row.quantity in FARM_FIGURES]
    for row in sorted(rows, key=lambda row: row.crop is not None):
        if row.crop is None or _crop(known, row.crop) == wanted:
            told[row.quantity] = row.value
    return Worth(told.get(VALUE), told.get(LOSS))


def worth_from_words(
    snapshot: Snapshot,
    *,
    crop: str | None = None,
    value: float | None = None,
    loss: float | None = None,
    farm: str | None = None,
) -> Entered:
    """Return the rows of what a person tells of a crop's worth, per m².

    Raises
    ------
    OutpaceError
        If nothing was told, a figure is below 0, or no house of the farm grows that crop.
    """
    there, known = pick_farm(snapshot, farm), load()
    told = {VALUE: value, LOSS: loss}
    given = {name: figure for name, figure in told.items() if figure is not None}
    if not given:
        raise OutpaceError(
            say("nothing was told"), hint=say("add `--value` or `--loss`"), code=ExitCode.USAGE
        )
    for name, figure in given.items():
        if not isfinite(figure) or figure < 0:
            raise OutpaceError(
                f"{name.replace('_', ' ')} {figure:g}", allowed=say("must be 0 or above"), code=ExitCode.USAGE
            )
    grown = sorted({_crop(known, house.crop) for house in houses_of(snapshot, there)})
    key = None if crop is None else _crop(known, crop)
    if key is not None and key not in grown:
        raise OutpaceError(
            say("no house of {farm} grows {crop!r}", farm=there.farm, crop=crop),
            allowed=say("one of {grown}", grown=", ".join(grown)),
            hint=say("name the crop as `outpace house` shows it"),
            code=ExitCode.USAGE,
        )
    units = {VALUE: f"{there.currency} m-2", LOSS: f"{there.currency} m-2 d-1"}
    rows = [
        OwnFact(
            farm=there.farm, species=ANY_APHID, crop=key, quantity=name, value=figure, sd=0.0,
            unit=units[name], seasons=0,
        )
        for name, figure in given.items()
    ]  # fmt: skip
    named = say("every crop") if key is None else key.replace("_", " ")
    parts = [
        say("{money} {per} still standing", money=money_rate(value, there.currency), per=per_area())
        if value is not None
        else "",
        say(
            "{money} lost {per} and day for each aphid above your level",
            money=money_rate(loss, there.currency),
            per=per_area(),
        )
        if loss is not None
        else "",
    ]
    sentence = say("{crop}: {figures}.", crop=named, figures="; ".join(part for part in parts if part))
    return Entered(list(rows), sentence[:1].upper() + sentence[1:])


def _crop(facts: Facts, crop: str) -> str:
    return facts.resolve_crop(crop) or crop.strip().casefold()
