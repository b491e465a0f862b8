"""Temperatures, areas and rates as their reader measures them; what is stored stays SI and °C.

The reader's own choice comes first, then what the farm tells of itself, then °C and m². Programs get SI.
Conversions are those of `outpace.units`, exact; here they are only rounded and named.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from outpace.language import UNITS, Manner, adopt, manner, mannered, say, to_say, written
from outpace.units import (
    area_from_m2,
    area_m2,
    difference_to_degc,
    from_degc,
    number,
    rate_from_per_m2,
    rate_to_per_m2,
    temperature_degc,
)

DEGREES = {"degc": "°C", "degf": "°F"}
AREAS = {
    "m2": "m²",
    "ft2": "ft²",
    "decare": to_say("decare"),
    "mu": to_say("mu"),
    "ha": "ha",
    "acre": to_say("acre"),
}
PER_AREA = {
    "m2": to_say("per m²"),
    "ft2": to_say("per 100 ft²"),
    "decare": to_say("per decare"),
    "mu": to_say("per mu"),
    "ha": to_say("per ha"),
    "acre": to_say("per acre"),
}
HUNDRED_FEET = 100.0
"""A rate per ft² would begin with two zeros: it is told per 100 ft²."""
THOUSAND_M2 = 1000.0
FEET = ("ft2", "acre")
"""Whose house is measured so measures a vent or a square of leaves in ft², the others in m²."""


def temperature_key() -> str:
    """Return in which unit temperatures are told now: ``degc`` or ``degf``."""
    told = manner()
    return "degc" if told.si else told.temperature or "degc"


def area_key() -> str:
    """Return in which unit areas are told now, a key of ``AREAS``."""
    told = manner()
    return "m2" if told.si else told.area or "m2"


def small_area_key() -> str:
    """Return in which unit a vent, a bed or a leaf is told now: ``m2`` or ``ft2``."""
    return "ft2" if area_key() in FEET else "m2"


def degree_sign() -> str:
    """Return the sign of the degrees told now: ``°C`` or ``°F``."""
    return DEGREES[temperature_key()]


def area_sign(*, small: bool = False) -> str:
    """Return the sign or the name of the area unit told now."""
    return say(AREAS[small_area_key() if small else area_key()])


def per_area(*, small: bool = False) -> str:
    """Return what a rate told now is counted by: ``per m²``, ``per 100 ft²``, ``per mu``."""
    return say(PER_AREA[small_area_key() if small else area_key()])


def units_sent() -> str:
    """Return the units that a form is shown in, for the form to say when it is sent.

    Examples
    --------
    >>> units_sent()
    'degc m2'
    """
    return f"{temperature_key()} {area_key()}"


def read_in(sent: str) -> None:
    """Read what follows in the units that a form was shown in, whatever was chosen since."""
    temperature, _, area = sent.partition(" ")
    if temperature in UNITS["temperature"] and area in UNITS["area"]:
        adopt(replace(manner(), temperature=temperature, area=area))


@contextmanager
def farm_units(temperature: str | None, area: str | None) -> Iterator[None]:
    """Tell things in a farm's own units until the block ends, where the reader chose none."""
    with mannered(with_farm_units(temperature, area)):
        yield


def with_farm_units(temperature: str | None, area: str | None) -> Manner:
    """Return the manner of now with a farm's own units where the reader chose none."""
    told = manner()
    return replace(told, temperature=told.temperature or temperature or "", area=told.area or area or "")


def degrees(value_degc: float, digits: int | None = 1) -> str:
    """Return the number of a temperature, without its sign.

    Parameters
    ----------
    value_degc : float
        [°C]
    digits : int or None, default 1
        Decimals, none of them a closing zero; None rounds as every figure is.

    Examples
    --------
    >>> degrees(21.37), degrees(27.0), degrees(21.6, 0), degrees(3.14, None)
    ('21.4', '27', '22', '3.1')
    """
    return _rounded(from_degc(value_degc, temperature_key()), digits)


def temperature(value_degc: float, digits: int | None = 1) -> str:
    """Return a temperature with its sign.

    Examples
    --------
    >>> temperature(21.37), temperature(27.0)
    ('21.4 °C', '27 °C')
    >>> with farm_units("degf", None):
    ...     temperature(27.0), temperature(31.2, 0)
    ('80.6 °F', '88 °F')
    """
    return f"{degrees(value_degc, digits)} {degree_sign()}"


def difference(value_degc: float, digits: int | None = 1) -> str:
    """Return how far two temperatures lie apart, with its sign: 5 °C apart are 9 °F apart.

    Examples
    --------
    >>> with farm_units("degf", None):
    ...     difference(5.0)
    '9 °F'
    """
    return f"{_rounded(_apart(value_degc), digits)} {degree_sign()}"


def area(value_m2: float, *, small: bool = False) -> str:
    """Return an area with its unit.

    Examples
    --------
    >>> area(1500.0)
    '1,500 m²'
    >>> with farm_units(None, "mu"):
    ...     area(1500.0), area(4.5, small=True)
    ('2.25 mu', '4.5 m²')
    """
    return f"{area_figure(value_m2, small=small)} {area_sign(small=small)}"


def area_value(value_m2: float, *, small: bool = False) -> float:
    """Return an area as a number in the unit told now."""
    return area_from_m2(value_m2, small_area_key() if small else area_key())


def area_figure(value_m2: float, *, small: bool = False) -> str:
    """Return the number of an area, without its unit; large units are told to three figures."""
    key = small_area_key() if small else area_key()
    value = area_value(value_m2, small=small)
    return _shortest(value, 3) if key in ("decare", "mu", "ha", "acre") else figure(value)


def rate(value_per_m2: float) -> str:
    """Return a rate per area with what it is counted by.

    Examples
    --------
    >>> rate(0.25)
    '0.25 per m²'
    >>> with farm_units(None, "ft2"):
    ...     rate(0.25)
    '2.3 per 100 ft²'
    """
    return f"{rate_figure(value_per_m2)} {per_area()}"


def rate_figure(value_per_m2: float | None) -> str:
    """Return the number of a rate per area."""
    return figure(None if value_per_m2 is None else rate_value(value_per_m2))


def sparse_figure(value_per_1000_m2: float) -> str:
    """Return the number of a rate of few things, as pots of bankers, by what ``per_wide_area`` names.

    Examples
    --------
    >>> sparse_figure(2.0)
    '2'
    >>> with farm_units(None, "ha"):
    ...     sparse_figure(2.0), per_wide_area()
    ('20', 'per ha')
    """
    value = value_per_1000_m2 / THOUSAND_M2
    if area_key() == "m2":
        return figure(value_per_1000_m2)
    return figure(rate_value(value) * (HUNDRED_FEET if area_key() == "ft2" else 1.0))


def per_wide_area() -> str:
    """Return what a rate of few things is counted by: ``per 1,000 m²``, ``per 10,000 ft²``, ``per ha``."""
    wide = {"m2": say("per 1,000 m²"), "ft2": say("per 10,000 ft²")}
    return wide.get(area_key()) or per_area()


def rate_value(value_per_m2: float, *, small: bool = False) -> float:
    """Return a rate as it is told now; one per m² is the same rate of 9.29 per 100 ft²."""
    key = small_area_key() if small else area_key()
    return rate_from_per_m2(value_per_m2, key) * (HUNDRED_FEET if key == "ft2" else 1.0)


def rate_per_m2(told: float, *, small: bool = False) -> float:
    """Return a rate per m² from one as it is told now."""
    key = small_area_key() if small else area_key()
    return rate_to_per_m2(told, key) / (HUNDRED_FEET if key == "ft2" else 1.0)


def of_unit(value: float, unit: str) -> float:
    """Return a figure of the tables, in their unit, as the reader measures it.

    Parameters
    ----------
    unit : str
        As the tables of facts write it; one that is no temperature and no area stays as it is.

    Examples
    --------
    >>> with farm_units("degf", None):
    ...     of_unit(5.0, "degC"), of_unit(100.0, "degC d")
    (41.0, 180.0)
    """
    if unit == "degC":
        return from_degc(value, temperature_key())
    if unit in ("degC d", "K"):
        return _apart(value)
    if unit == "degC-1":
        return value / _apart(1.0)
    if unit in ("m2", "m^2", "m2 d-1", "m² d⁻¹"):
        return area_from_m2(value, small_area_key())
    if unit == "m-2":
        return rate_value(value)
    return value


def name_of_unit(unit: str) -> str | None:
    """Return how a unit of the tables is read aloud; None for one that nobody measures otherwise."""
    sign, small = degree_sign(), area_sign(small=True)
    names = {
        "degC": sign,
        "degC d": say("{degrees} d", degrees=sign),
        "degC-1": say("per {unit}", unit=sign),
        "m2": small,
        "m^2": small,
        "m-2": per_area(),
        "m2 d-1": say("{area} per day", area=small),
        "m² d⁻¹": say("{area} per day", area=small),
    }
    return names.get(unit)


def read_temperature(text: str, *, farm: str | None = None, where: str = "temperature") -> float:
    """Return a typed temperature in °C; without a sign it is in the reader's unit, else in the farm's.

    Examples
    --------
    >>> with farm_units("degf", None):
    ...     read_temperature("64.4"), read_temperature("18 °C")
    (18.0, 18.0)
    """
    return temperature_degc(text, temperature_typed(farm), where=where)


def read_difference(text: str, *, where: str = "temperature") -> float:
    """Return a typed difference of temperatures in °C."""
    return difference_to_degc(number(text, where=where), temperature_typed())


def read_area(text: str, *, farm: str | None = None, small: bool = False, where: str = "area") -> float:
    """Return a typed area in m²; without a unit it is in the reader's, else in the farm's."""
    unit = area_typed(farm)
    return area_m2(text, ("ft2" if unit in FEET else "m2") if small else unit, where=where)


def read_rate(text: str, *, small: bool = False, where: str = "rate") -> float:
    """Return a typed rate, per what ``per_area`` says, per m²."""
    return rate_per_m2(number(text, where=where), small=small)


def temperature_typed(farm: str | None = None) -> str:
    """Return in which unit a temperature without a sign was typed; a program's answer in SI changes nothing."""
    return manner().temperature or farm or "degc"


def area_typed(farm: str | None = None) -> str:
    """Return in which unit an area without one was typed."""
    return manner().area or farm or "m2"


def figure(value: float | int | None) -> str:
    """Return a number with as many digits as it deserves.

    Examples
    --------
    >>> [figure(x) for x in (0, 0.034, 2.14, 37.2, 1500, 12.0)]
    ['0', '0.034', '2.1', '37', '1,500', '12']
    """
    if value is None:
        return say("not known")
    return written(_figure(value))


def _figure(value: float | int) -> str:
    if value == 0:
        return "0"
    size = abs(value)
    if size >= 1e9:
        return f"{value:.1e}"
    if size >= 100 or float(value).is_integer():
        return f"{value:,.0f}"
    if size >= 10:
        return f"{value:.0f}"
    if size >= 1:
        return f"{value:.1f}"
    if size >= 0.1:
        return f"{value:.2f}"
    return f"{value:.2g}" if size >= 1e-4 else f"{value:.0e}"


def _apart(value_degc: float) -> float:
    return value_degc * 9.0 / 5.0 if temperature_key() == "degf" else value_degc


def _rounded(value: float, digits: int | None) -> str:
    if digits is None:
        return figure(value)
    shown = f"{value:.{digits}f}"
    if "." in shown:
        shown = shown.rstrip("0").rstrip(".")
    return written("0" if re.fullmatch(r"-0", shown) else shown)


def _shortest(value: float, figures: int) -> str:
    """Return a number to so many figures, whole above them, without closing zeros."""
    return written(f"{value:,.0f}" if abs(value) >= 10**figures else f"{value:.{figures}g}")
