"""A walk told in one line, read into its numbers.

Such as "T3: 20 looked at, 4 with greenfly, about 60, 3 mummies".
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say

#: Words for aphids that name no species.
GENERAL_WORDS = frozenset(
    (
        *("aphid", "aphids", "greenfly", "greenflies", "blackfly", "blackflies", "plant-lice", "lice"),
        *("them", "some", "any", "infested", "infestation", "affected"),
    )
)

EXAMPLE = '"T3: 20 looked at, 4 with greenfly, about 60, 3 mummies"'

_FIRST_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_NUMBER_WORDS = {word: number for number, word in enumerate(_FIRST_NUMBERS)} | {
    **dict.fromkeys(("none", "nothing", "zero", "nil", "clean"), 0),
    "a": 1,
    "twelve": 12,
    "twenty": 20,
    "thirty": 30,
    "forty": 40,
    "fifty": 50,
}

_IN_ALL = r"(?:in all|in total|altogether|total)"
_UNITS = r"(?:plants?|leaves|leaf|shoots?|tips?|units?)"
_ABOUT = r"(?:(?:about|around|approx\.?|approximately|roughly|some|maybe|ca\.?|c\.|circa|~|≈)\s*)?"
_LOOKED = re.compile(
    rf"(?:looked at|checked|inspected|saw)\s+{_ABOUT}(?P<a>\S+)(?:\s+{_UNITS})?"
    rf"|{_ABOUT}(?P<b>\S+?)\s*(?:{_UNITS}\s*)?"
    r"(?:were\s+)?(?:looked at|checked|inspected|seen)"
)
_MUMMIES = re.compile(
    rf"{_ABOUT}(?P<n>\S+?)\s*(?:(?:closed|tan|brown|gold|golden|black|white)\s+)?mumm(?:y|ies)"
)
_INFESTED = re.compile(
    rf"{_ABOUT}(?P<n>\S+?)\s*(?:(?:{_UNITS}|of them)\s+)?"
    r"(?:with|had|have|has|infested with|infested|affected)(?:\s+(?P<pest>.+))?"
)
_ON = re.compile(rf"(?P<pest>.+?)\s+on\s+{_ABOUT}(?P<n>\S+)(?:\s+(?:{_UNITS}|of them))?")
_ABOUT_COUNT = re.compile(
    rf"(?:in all\s+)?{_ABOUT}(?P<n>\S+?)(?:\s+(?P<pest>(?!{_IN_ALL})[^\d]+?))?(?:\s+{_IN_ALL})?"
)
_NONE = re.compile(
    r"(?:(?:found|saw)\s+)?(?:none|nothing|clean|all clean|zero|nil|no (?:aphids?|greenfly|finds?))"
    r"(?:\s+found)?"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineTold:
    """What was told of one aphid. ``pest_word`` is None where no species was named."""

    pest_word: str | None
    looked_at: int
    infested: int
    aphids_about: int | None = None
    mummies_about: int | None = None


@dataclass(frozen=True, slots=True)
class WalkTold:
    """A walk as it was told: the house, where it was named, and a line an aphid."""

    house: str | None
    lines: tuple[LineTold, ...]

    @property
    def found_none(self) -> bool:
        """Return whether the walk found no aphid at all."""
        return all(line.infested == 0 for line in self.lines)


def read_walk_line(text: str) -> WalkTold:
    """Return the walk that one line tells.

    Parts stand between commas or semicolons. The house, if named, stands before a colon. A second "with"
    begins a second aphid. Mummies not told of stay None, which is not zero.

    Parameters
    ----------
    text : str
        Such as ``T3: 20 looked at, 4 with greenfly, about 60, 3 mummies`` or ``30 looked at, none``.

    Raises
    ------
    OutpaceError
        If a part cannot be read, if a number is told twice, or if what was looked at or infested is missing.

    Examples
    --------
    >>> told = read_walk_line("T3: 20 looked at, 4 with greenfly, about 60, 3 mummies")
    >>> told.house, told.lines[0].looked_at, told.lines[0].infested
    ('T3', 20, 4)
    >>> read_walk_line("30 looked at, none").found_none
    True
    """
    house, _, rest = text.rpartition(":")
    looked: int | None = None
    found: list[dict[str, int | str | None]] = []
    mummies: int | None = None
    clean = False
    for part in _parts(rest):
        plain = re.sub(r"\s+", " ", part).strip(" .!").casefold()
        if match := _LOOKED.fullmatch(plain):
            looked = _once(looked, _count(match["a"] or match["b"], part), part)
        elif match := _MUMMIES.fullmatch(plain):
            number = _count(match["n"], part)
            if len(found) > 1 or (found and "mummies" in found[-1]):
                found[-1]["mummies"] = _once(_as_number(found[-1].get("mummies")), number, part)
            elif found:
                found[-1]["mummies"] = number
            else:
                mummies = _once(mummies, number, part)
        elif _NONE.fullmatch(plain):
            clean = True
        elif (match := _INFESTED.fullmatch(plain)) or (match := _ON.fullmatch(plain)):
            found.append({"infested": _count(match["n"], part), "pest": _pest(match["pest"])})
        elif match := _ABOUT_COUNT.fullmatch(plain):
            _add_about(found, match, part)
        else:
            raise _unread(part)
    return WalkTold(house.strip() or None, _lines(looked, found, mummies, clean, text))


def _parts(text: str) -> list[str]:
    joined = re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)
    parts = [part for part in re.split(r"[,;\n]|\band\b(?=\s+(?:about\s+)?\d)", joined) if part.strip()]
    if not parts:
        raise OutpaceError(
            say("the walk says nothing"),
            hint=say("say it such as {example}", example=EXAMPLE),
            code=ExitCode.USAGE,
        )
    return parts


def _count(word: str, part: str) -> int:
    plain = word.strip("~≈").casefold()
    if plain in _NUMBER_WORDS:
        return _NUMBER_WORDS[plain]
    if re.fullmatch(r"\d{1,7}", plain):
        return int(plain)
    if re.fullmatch(r"-\d+", plain):
        raise OutpaceError(
            f"{part.strip()!r}",
            allowed=say("a count cannot be negative"),
            hint=say("0 means none"),
            code=ExitCode.USAGE,
        )
    raise _unread(part)


def _as_number(value: int | str | None) -> int | None:
    return value if isinstance(value, int) else None


def _once(before: int | None, number: int, part: str) -> int:
    if before is not None and before != number:
        raise OutpaceError(
            f"{part.strip()!r}",
            allowed=say("the same was told before as {before}", before=before),
            hint=say("tell each number once"),
            code=ExitCode.USAGE,
        )
    return number


def _pest(words: str | None) -> str | None:
    plain = re.sub(r"^(?:the|some|live|a few)\s+", "", (words or "").strip())
    return None if not plain or plain in GENERAL_WORDS else plain


def _add_about(found: list[dict[str, int | str | None]], match: re.Match[str], part: str) -> None:
    """Put a bare count to the aphid it follows: "about 60" belongs to the "4 with" before it."""
    pest = match["pest"]
    named = _pest(pest)
    if named is None and pest is not None and pest.strip() in {"infested", "affected"}:
        found.append({"infested": _count(match["n"], part), "pest": None})
        return
    number = _count(match["n"], part)
    if not found or (named is not None and named != found[-1]["pest"]):
        raise _unread(part)
    found[-1]["about"] = _once(_as_number(found[-1].get("about")), number, part)


def _unread(part: str) -> OutpaceError:
    return OutpaceError(
        say("{part!r} cannot be read", part=part.strip()),
        allowed=say("how many looked at, how many with aphids (or none), about how many aphids, mummies"),
        hint=say("say it such as {example}", example=EXAMPLE),
        code=ExitCode.USAGE,
    )


def _lines(
    looked: int | None,
    found: list[dict[str, int | str | None]],
    mummies: int | None,
    clean: bool,
    text: str,
) -> tuple[LineTold, ...]:
    if looked is None or looked < 1:
        raise OutpaceError(
            say("{text_told!r} does not say how many were looked at", text_told=text.strip())
            if looked is None
            else say("0 looked at"),
            allowed=say("at least one"),
            hint=say("begin with it, such as {example}", example=EXAMPLE),
            code=ExitCode.USAGE,
        )
    if clean and any(item["infested"] for item in found):
        raise OutpaceError(
            say("{text_told!r} says none and some", text_told=text.strip()),
            hint=say("leave out one of the two"),
            code=ExitCode.USAGE,
        )
    if not found and not clean:
        raise OutpaceError(
            say("{text_told!r} does not say on how many there were aphids", text_told=text.strip()),
            allowed=say('a number, or "none"'),
            hint=say('add such as "4 with greenfly", or "none"'),
            code=ExitCode.USAGE,
        )
    if not found:
        return (
            LineTold(pest_word=None, looked_at=looked, infested=0, aphids_about=0, mummies_about=mummies),
        )
    lines = []
    for number, item in enumerate(found):
        pest = item["pest"]
        own = _as_number(item.get("mummies"))
        line = LineTold(
            pest_word=pest if isinstance(pest, str) else None,
            looked_at=looked,
            infested=_as_number(item["infested"]) or 0,
            aphids_about=_as_number(item.get("about")),
            mummies_about=own if own is not None or number else mummies,
        )
        _check(line)
        lines.append(line)
    if len({line.pest_word for line in lines}) < len(lines):
        raise OutpaceError(
            say("the same aphid is told of twice"), hint=say("one part an aphid"), code=ExitCode.USAGE
        )
    return tuple(lines)


def _check(line: LineTold) -> None:
    if line.infested > line.looked_at:
        raise OutpaceError(
            say(
                "{infested} with aphids of {looked_at} looked at",
                infested=line.infested,
                looked_at=line.looked_at,
            ),
            allowed=say("no more than were looked at"),
            hint=say("check the two numbers"),
            code=ExitCode.USAGE,
        )
    if line.aphids_about is not None and line.aphids_about < line.infested:
        raise OutpaceError(
            say(
                "about {aphids_about} aphids on {infested} with aphids",
                aphids_about=line.aphids_about,
                infested=line.infested,
            ),
            allowed=say("at least one on each"),
            hint=say("check the two numbers"),
            code=ExitCode.USAGE,
        )
    if line.infested == 0 and line.aphids_about:
        raise OutpaceError(
            say("about {aphids_about} aphids on none", aphids_about=line.aphids_about),
            hint=say("say on how many they were"),
            code=ExitCode.USAGE,
        )
