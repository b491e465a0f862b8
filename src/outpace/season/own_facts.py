"""Figures of this grower's own that stand before those of the books: the rows of ``own_facts``."""

from __future__ import annotations

from datetime import date

from outpace.errors import OutpaceError
from outpace.facts.table import Fact, Facts
from outpace.language import say, say_many
from outpace.simulation.draws import NINE_TENTHS
from outpace.terms.place import Farm
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import OwnFact

FARM_FIGURES = ("crop_value", "loss_above_level")
"""What a farm tells of its crops' worth: no quantity of the books."""


def with_own_facts(snapshot: Snapshot, farm: Farm, facts: Facts) -> Facts:
    """Return the facts with this farm's own rows before them, each marked ``own``.

    Raises
    ------
    OutpaceError
        If a row names a quantity that no fact has, another unit than the facts', or one that depends on temperature.
    """
    rows = [
        row
        for row in snapshot.table(OwnFact)
        if row.farm == farm.farm and row.quantity not in FARM_FIGURES and season_of(row.quantity) is None
    ]
    return facts.with_own(_fact(row, facts) for row in rows) if rows else facts


def _fact(row: OwnFact, facts: Facts) -> Fact:
    where = say("own fact {species} {quantity}", species=row.species, quantity=row.quantity)
    quantity = facts.quantities.get(row.quantity)
    crop = facts.resolve_crop(row.crop) if row.crop else ""
    if quantity is None:
        raise OutpaceError(
            say("no quantity called {quantity!r}", quantity=row.quantity),
            where=where,
            allowed=say("a quantity of `docs/facts.md`"),
            hint=say("withdraw the row, or write its quantity anew"),
        )
    if row.unit != quantity.unit:
        raise OutpaceError(
            say("unit {unit!r}", unit=row.unit),
            where=where,
            allowed=say("must be {unit!r}", unit=quantity.unit),
            hint=say("convert the figure, and enter it anew"),
        )
    books = facts.by_temperature(
        row.species, row.quantity, other_species=row.other_species or "", crop=crop or ""
    )
    if len(books) > 1:
        raise OutpaceError(
            say("one value for {quantity}", quantity=row.quantity),
            where=where,
            allowed=say(
                "the books have it at {books} temperatures, and one value cannot stand for them",
                books=len(books),
            ),
            hint=say("withdraw the row"),
        )
    reach = NINE_TENTHS * row.sd
    return Fact(
        species=row.species,
        other_species=row.other_species or "",
        crop=crop or "",
        stage="",
        quantity=row.quantity,
        temperature_degc=None,
        value=row.value,
        unit=row.unit,
        low=row.value - reach if row.sd > 0 else None,
        high=row.value + reach if row.sd > 0 else None,
        spread=say("90 % range") if row.sd > 0 else "",
        n=None,
        conditions=say_many("{n} season", "{n} seasons", row.seasons),
        strain="",
        source="",
        locator="",
        evidence="own",
        note=say("entered as your own"),
    )


def name_of(quantity: str, until: date) -> str:
    """Return how a quantity of a season that ended on a day is written among own facts.

    Examples
    --------
    >>> name_of("growth", date(2026, 10, 31))
    'log_growth until 2026-10-31'
    """
    return f"log_{quantity} until {until}"


def season_of(name: str) -> tuple[str, date] | None:
    """Return the quantity and the last day of the season of a row of own facts; None where it is a plain figure.

    Examples
    --------
    >>> season_of("log_growth until 2026-10-31"), season_of("thermal_constant")
    (('growth', datetime.date(2026, 10, 31)), None)
    """
    before, _, day = name.partition(" until ")
    if not before.startswith("log_"):
        return None
    try:
        return before.removeprefix("log_"), date.fromisoformat(day)
    except ValueError:
        return None
