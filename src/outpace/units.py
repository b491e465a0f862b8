"""Numbers with units, converted once at the door: typed text and files in, SI and °C inside.

Factors are exact. The international foot is 0.3048 m (International Yard and Pound Agreement 1959; recalled),
the acre 43 560 square feet, the decare 1000 m², and 15 mu make one hectare (recalled).
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say

FOOT_M = Fraction(3048, 10_000)
YARD_M = 3 * FOOT_M
INCH_M = FOOT_M / 12

AREA_M2: dict[str, Fraction] = {
    "m2": Fraction(1),
    "ft2": FOOT_M**2,
    "yd2": YARD_M**2,
    "decare": Fraction(1_000),
    "mu": Fraction(2_000, 3),
    "ha": Fraction(10_000),
    "acre": 43_560 * FOOT_M**2,
}
LENGTH_M: dict[str, Fraction] = {
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "ft": FOOT_M,
    "yd": YARD_M,
    "inch": INCH_M,
}

AREA_WORDS: dict[str, str] = {
    "m2": "m2 m² m^2 sqm sq.m sqmetre sqmetres sqmeter sqmeters "
    "squaremetre squaremetres squaremeter squaremeters",
    "ft2": "ft2 ft² ft^2 sqft sq.ft squarefoot squarefeet sf",
    "yd2": "yd2 yd² yd^2 sqyd squareyard squareyards",
    "decare": "decare decares daa",
    "mu": "mu 亩 畝",
    "ha": "ha hectare hectares",
    "acre": "acre acres ac",
}
LENGTH_WORDS: dict[str, str] = {
    "m": "m metre metres meter meters",
    "cm": "cm centimetre centimetres centimeter centimeters",
    "ft": "ft foot feet '",
    "yd": "yd yard yards",
    "inch": 'inch inches in "',
}
TEMPERATURE_WORDS: dict[str, str] = {
    "degc": "degc °c c celsius ℃ centigrade",
    "degf": "degf °f f fahrenheit ℉",
}

_SPACES = "\u0020\u00a0\u2009\u202f\u2007'’"
_DIGITS = re.compile(r"[+-]?(?:\d+|\d*[.,]\d+|\d+[.,])(?:[eE][+-]?\d+)?")


def _units_by_word(words: dict[str, str]) -> dict[str, str]:
    return {word: unit for unit, line in words.items() for word in line.split()}


_AREA = _units_by_word(AREA_WORDS)
_LENGTH = _units_by_word(LENGTH_WORDS)
_TEMPERATURE = _units_by_word(TEMPERATURE_WORDS)


def _unread(text: str, where: str, allowed: str, hint: str) -> OutpaceError:
    return OutpaceError(f"{text!r}", where=where, allowed=allowed, hint=hint, code=ExitCode.USAGE)


def number(text: str, *, decimal: str | None = None, where: str = "number") -> float:
    """Return the number that a text holds, whichever decimal mark was used.

    Parameters
    ----------
    text : str
        ``21.4``, ``21,4``, ``1 200``, ``1,234.5`` or ``1.234,5``.
    decimal : {".", ","}, optional
        The decimal mark, where it is known. Without it a text that could mean two numbers is refused.
    where : str
        Where the text stood, for the message.

    Raises
    ------
    OutpaceError
        If the text is no finite number, or could be read in two ways.

    Examples
    --------
    >>> number("21,4"), number("1.234,5"), number("1,234", decimal=","), number("0.125")
    (21.4, 1234.5, 1.234, 0.125)
    """
    plain = text.strip().replace("\u2212", "-")
    for space in _SPACES:
        plain = re.sub(rf"(?<=\d){re.escape(space)}(?=\d{{3}}(?!\d))", "", plain)
    marks = [mark for mark in plain if mark in ".,"]
    if decimal is not None:
        other = "," if decimal == "." else "."
        if other in plain:
            _must_group(plain, other, decimal, text, where)
            plain = plain.replace(other, "")
        plain = plain.replace(decimal, ".", 1) if plain.count(decimal) == 1 else plain
    elif len(set(marks)) == 2:
        last = marks[-1]
        first = "," if last == "." else "."
        _must_group(plain, first, last, text, where)
        plain = plain.replace(first, "").replace(last, ".")
    elif len(marks) > 1:
        _must_group(plain, marks[0], "", text, where)
        plain = plain.replace(marks[0], "")
    elif marks and re.fullmatch(r"[+-]?[1-9]\d{0,2}[.,]\d{3}", plain):
        thousand, fraction = re.sub(r"[.,]", "", plain), plain.replace(",", ".")
        raise _unread(
            text,
            where,
            say("could mean {thousand} or {fraction}", thousand=thousand, fraction=fraction),
            say("write {thousand} without a mark, or {fraction}0", thousand=thousand, fraction=fraction),
        )
    else:
        plain = plain.replace(",", ".")
    if not _DIGITS.fullmatch(plain) or not math.isfinite(float(plain)):
        raise _unread(text, where, say("must be a number"), say("write digits with at most one decimal mark"))
    return float(plain)


def _must_group(plain: str, mark: str, decimal: str, text: str, where: str) -> None:
    """Refuse a thousands mark that does not stand between groups of three digits."""
    whole = plain.split(decimal)[0] if decimal else plain
    groups = whole.lstrip("+-").split(mark)
    good = len(groups) > 1 and re.fullmatch(r"\d{1,3}", groups[0]) is not None
    if not good or any(re.fullmatch(r"\d{3}", group) is None for group in groups[1:]):
        raise _unread(text, where, say("must be a number"), say("write digits with at most one decimal mark"))
    if decimal and mark in plain.partition(decimal)[2]:
        raise _unread(text, where, say("must be a number"), say("write digits with at most one decimal mark"))


def unit_of_area(word: str, *, where: str = "area") -> str:
    """Return the key of an area unit: m2, ft2, yd2, decare, mu, ha or acre."""
    return _unit(word, _AREA, where, say("m2, ft2, yd2, decare, mu, ha or acre"))


def unit_of_temperature(word: str, *, where: str = "temperature") -> str:
    """Return ``degc`` or ``degf`` for any common way to write it."""
    return _unit(word, _TEMPERATURE, where, say("degc or degf"))


def _unit(word: str, known: dict[str, str], where: str, allowed: str) -> str:
    plain = re.sub(r"[\s_-]+", "", word).casefold()
    if plain not in known:
        raise _unread(
            word,
            where,
            say("must be in {allowed}", allowed=allowed),
            say("write the unit as {value}", value=allowed.split(",")[0]),
        )
    return known[plain]


def _split(text: str) -> tuple[str, str]:
    """Return a text's number and what follows it."""
    found = re.match(rf"\s*([+\-\u2212]?[\d.,{_SPACES}]*\d[.,]?)\s*(.*?)\s*$", text, re.DOTALL)
    return (found.group(1), found.group(2)) if found else (text, "")


def area_m2(text: str, unit: str = "m2", *, where: str = "area") -> float:
    """Return an area in m² from text such as ``240``, ``2600ft2`` or ``0.5 acre``.

    Parameters
    ----------
    text : str
        A number, with or without a unit.
    unit : str, default "m2"
        What a number without a unit means.

    Raises
    ------
    OutpaceError
        If the number or the unit cannot be read, or the area is not above zero.

    Examples
    --------
    >>> area_m2("0.5 acre"), area_m2("1000", "ft2"), area_m2("3 mu")
    (2023.4282112, 92.90304, 2000.0)
    """
    figure, word = _split(text)
    key = unit_of_area(word or unit, where=where)
    value = area_to_m2(number(figure, where=where), key)
    if value <= 0:
        raise OutpaceError(
            say("area {text_told}", text_told=text),
            where=where,
            allowed=say("must be above 0"),
            hint=say("measure length times width"),
            code=ExitCode.USAGE,
        )
    return value


def area_to_m2(value: float, unit: str) -> float:
    """Return an area in m². ``unit`` is a key of ``AREA_M2``."""
    return _scaled(value, AREA_M2[unit])


def area_from_m2(value_m2: float, unit: str) -> float:
    """Return an area of so many m² in another unit, a key of ``AREA_M2``."""
    return _scaled(value_m2, 1 / AREA_M2[unit])


def length_m(text: str, unit: str = "m", *, where: str = "length") -> float:
    """Return a length in m from text such as ``40``, ``131 ft`` or ``50cm``.

    Examples
    --------
    >>> length_m("50cm"), length_m("100 ft")
    (0.5, 30.48)
    """
    figure, word = _split(text)
    key = _unit(word or unit, _LENGTH, where, say("m, cm, ft, yd or inch"))
    return _scaled(number(figure, where=where), LENGTH_M[key])


def temperature_degc(text: str, unit: str = "degc", *, where: str = "temperature") -> float:
    """Return a temperature in °C from text such as ``18``, ``64.4 °F`` or ``-2,5 C``.

    Examples
    --------
    >>> temperature_degc("64.4 °F"), temperature_degc("-2,5 C")
    (18.0, -2.5)
    """
    figure, word = _split(text)
    return to_degc(number(figure, where=where), unit_of_temperature(word or unit, where=where))


def to_degc(value: float, unit: str) -> float:
    """Return a temperature in °C; ``unit`` is ``degc`` or ``degf``. Rounded to what a sensor can tell.

    Examples
    --------
    >>> to_degc(212.0, "degf"), to_degc(-40.0, "degf"), to_degc(21.37, "degc")
    (100.0, -40.0, 21.37)
    """
    return round((value - 32.0) * 5.0 / 9.0, 6) if unit == "degf" else value


def from_degc(value_degc: float, unit: str) -> float:
    """Return a temperature of so many °C in ``degc`` or ``degf``."""
    return round(value_degc * 9.0 / 5.0 + 32.0, 6) if unit == "degf" else value_degc


def difference_to_degc(value: float, unit: str) -> float:
    """Return a difference of temperatures in °C: 9 °F apart are 5 °C apart."""
    return value * 5.0 / 9.0 if unit == "degf" else value


def rate_per_m2(text: str, *, where: str = "rate") -> float:
    """Return a rate per m² from text such as ``500 per acre``, ``5/100 ft2`` or ``0.25 per m2``.

    Examples
    --------
    >>> round(rate_per_m2("500 per acre"), 3), round(rate_per_m2("5/100 ft2"), 2)
    (0.124, 0.54)
    """
    found = re.fullmatch(r"\s*(.+?)\s*(?:/|\bper\b)\s*(.+?)\s*", text, re.IGNORECASE)
    if not found:
        raise _unread(text, where, say("must be a number per area"), say("write it such as 0.25 per m2"))
    amount, rest = found.groups()
    figure, word = _split(rest) if re.match(r"\s*\d", rest) else ("1", rest)
    # 1,000 ft2 is how areas of a thousand are written beside a rate; a decimal there would be no round area.
    size = number(figure, decimal=".", where=where) if "," in figure else number(figure, where=where)
    area = size * float(AREA_M2[unit_of_area(word, where=where)])
    if area <= 0:
        raise _unread(text, where, say("the area must be above 0"), say("write it such as 0.25 per m2"))
    return number(amount, where=where) / area


def rate_to_per_m2(value: float, unit: str) -> float:
    """Return a rate per m² from one per ``unit``, a key of ``AREA_M2``."""
    return _scaled(value, 1 / AREA_M2[unit])


def rate_from_per_m2(value_per_m2: float, unit: str) -> float:
    """Return a rate per ``unit`` from one per m²."""
    return _scaled(value_per_m2, AREA_M2[unit])


def _scaled(value: float, factor: Fraction) -> float:
    """Return the product, rounded once: the factor itself is exact."""
    return float(Fraction(value) * factor)
