"""A day's minimum and maximum, read off a thermometer, as rows of the book."""

from __future__ import annotations

from datetime import UTC, datetime

from outpace.intake.typed import TypedDay, climate_of_typed_days
from outpace.language import say
from outpace.measures import degrees, temperature, temperature_typed
from outpace.season.enter import Entered
from outpace.season.moments import day
from outpace.season.names import pick_farm, pick_house
from outpace.terms.tables import Snapshot
from outpace.units import temperature_degc


def climate_from_day(
    snapshot: Snapshot,
    house: str,
    on: str,
    low: str,
    high: str,
    *,
    farm: str | None = None,
    zone: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return the hours of a day between its typed minimum and maximum.

    Parameters
    ----------
    on : str
        The day.
    low, high : str
        Temperatures, in the farm's unit where they name none.

    Raises
    ------
    OutpaceError
        If the day lies ahead, or no house has such temperatures.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    unit = temperature_typed(there.temperature_unit)
    typed = TypedDay(
        day(on, where="`--on`"),
        temperature_degc(low, unit, where="`--min`"),
        temperature_degc(high, unit, where="`--max`"),
    )
    rows = climate_of_typed_days(
        [typed],
        farm=there.farm,
        house=place.house,
        time_zone=there.time_zone,
        zone=zone,
        now=now or datetime.now(UTC),
    )
    sentence = say(
        "{house}, {day}: {low} to {high}.",
        house=place.house,
        day=typed.day,
        low=degrees(typed.low_degc),
        high=temperature(typed.high_degc),
    )
    cautions = (
        say("The hours between are drawn, not read: a logger among the leaves makes the bands narrower."),
    )
    return Entered(list(rows), sentence, cautions)
