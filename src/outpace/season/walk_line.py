"""A walk that was told in one line, as rows of the book."""

from __future__ import annotations

from datetime import UTC, datetime

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import load
from outpace.intake.walk_line import LineTold, read_walk_line
from outpace.language import say
from outpace.season.enter import Entered, key_from
from outpace.season.moments import moment
from outpace.season.names import pick_farm, pick_house, zone_of_farm
from outpace.terms.place import Farm, House
from outpace.terms.scouting import PESTS_UNNAMED, Walk, WalkLine
from outpace.terms.tables import Snapshot


def walk_from_line(
    snapshot: Snapshot,
    text: str,
    *,
    house: str | None = None,
    farm: str | None = None,
    on: str | None = None,
    unit: str = "plant",
    chosen: str = "random",
    scout: str | None = None,
    minutes: float | None = None,
    correct: bool = False,
    now: datetime | None = None,
) -> Entered:
    """Return the rows of a walk told such as ``T3: 20 looked at, 4 with greenfly, about 60, 3 mummies``.

    Parameters
    ----------
    house : str, optional
        The house, where the line does not name it.
    on : str, optional
        Day or time of the walk in the farm's time; default now.

    Raises
    ------
    OutpaceError
        If the line cannot be read, or names a house or an aphid that is not known.
    """
    told = read_walk_line(text)
    there = pick_farm(snapshot, farm)
    if told.house and house and told.house.casefold() != house.casefold():
        raise OutpaceError(
            say("the line says {house!r} and `--house` says {house2!r}", house=told.house, house2=house),
            hint=say("name the house once"),
            code=ExitCode.USAGE,
        )
    named = told.house or house
    if named is None:
        raise OutpaceError(
            say("the walk does not say in which house"),
            hint=say('begin with it: "HOUSE: 20 looked at, none", or add `--house`'),
            code=ExitCode.USAGE,
        )
    place = pick_house(snapshot, there, named)
    time = moment(on, zone_of_farm(there), where="`--on`", now=now).replace(second=0)
    # The same house and minute are the same walk: told again it changes nothing, told otherwise it conflicts.
    key = key_from(place.house, there.farm, time.astimezone(UTC).isoformat(timespec="minutes"), unit, chosen)
    lines = [_row(key, line, found_none=told.found_none) for line in told.lines]
    walk = _walk(key, there, place, time, unit, chosen, told.lines, scout, minutes)
    return Entered(
        [walk, *lines],
        _sentence(place, time, unit, told.lines, lines),
        _cautions(lines, chosen, time),
        withdrawn=_no_longer_told(snapshot, key, lines, time, correct=correct),
    )


def _no_longer_told(
    snapshot: Snapshot, key: str, lines: list[WalkLine], time: datetime, *, correct: bool
) -> list[tuple[type, tuple[str, ...]]]:
    """Return the lines of the same walk that tell of another aphid, to be withdrawn by a correction."""
    told = {line.pest for line in lines}
    others = [row for row in snapshot.table(WalkLine) if row.walk == key and row.pest not in told]
    if others and not correct:
        found = ", ".join(_word(row.pest) for row in others)
        raise OutpaceError(
            say("the walk of {time:%Y-%m-%d %H:%M} is in the book with {found}", time=time, found=found),
            hint=say(
                "to replace it, tell it whole with `--correct`; another walk needs its own time, `--on`"
            ),
        )
    return [(WalkLine, (row.walk, row.pest)) for row in others]


def _walk(
    key: str,
    farm: Farm,
    house: House,
    time: datetime,
    unit: str,
    chosen: str,
    lines: tuple[LineTold, ...],
    scout: str | None,
    minutes: float | None,
) -> Walk:
    return Walk(
        walk=key,
        farm=farm.farm,
        house=house.house,
        time=time,
        scout=scout,
        unit=unit,
        chosen=chosen,
        looked_at=max(line.looked_at for line in lines),
        minutes=minutes,
        finished=True,
    )


def _row(key: str, line: LineTold, *, found_none: bool) -> WalkLine:
    return WalkLine(
        walk=key,
        pest=_pest(line.pest_word, found_none=found_none),
        looked_at=line.looked_at,
        infested=line.infested,
        aphids_about=line.aphids_about,
        mummies_about=line.mummies_about,
    )


def _pest(word: str | None, *, found_none: bool) -> str:
    """Return the key of an aphid; one that was seen and not named is unknown, a clean walk speaks of any."""
    if word is None:
        return "any" if found_none else "unknown"
    plain = " ".join(word.casefold().split())
    return plain if plain in PESTS_UNNAMED else load().resolve(word, "pest")


def _sentence(
    house: House, time: datetime, unit: str, told: tuple[LineTold, ...], rows: list[WalkLine]
) -> str:
    many = {"leaf": "leaves", "shoot": "shoots", "plant": "plants"}[unit]
    parts = []
    for line, row in zip(told, rows, strict=True):
        if row.pest == "any":
            continue
        about = (
            say(", about {aphids_about:,} live aphids", aphids_about=line.aphids_about)
            if line.aphids_about
            else ""
        )
        parts.append(
            say("{infested} with {pest}{about}", infested=line.infested, pest=_word(row.pest), about=about)
        )
    mummies = [line.mummies_about for line in told if line.mummies_about is not None]
    found = "; ".join(parts) or say("none with aphids")
    tail = say("; {mummies} mummies", mummies=sum(mummies)) if mummies else ""
    return say(
        "{house}, {time:%Y-%m-%d %H:%M}: {looked_at} {many_told} looked at, {found}{tail}.",
        house=house.house,
        time=time,
        looked_at=told[0].looked_at,
        many_told=many,
        found=found,
        tail=tail,
    )


def _word(pest: str) -> str:
    species = load().species.get(pest)
    if species:
        return species.latin or species.english
    return say("no aphid") if pest == "any" else say("an {pest} aphid", pest=pest)


def _cautions(lines: list[WalkLine], chosen: str, time: datetime) -> tuple[str, ...]:
    told = []
    if any(line.pest.startswith("unknown") for line in lines):
        told.append(
            say(
                "Which aphid it is was not told: it is reckoned with as unknown, and no wasp is promised "
                "for it. Look with a lens, then tell it again with its name and `--on "
                "{time:%Y-%m-%dT%H:%M} --correct`.",
                time=time,
            )
        )
    if any(line.infested and line.aphids_about is None for line in lines):
        told.append(
            say("About how many aphids was not told: only the share of infested ones is reckoned with.")
        )
    if any(line.mummies_about is None for line in lines):
        told.append(say("Mummies were not told: they are not recorded, which is not zero."))
    if chosen == "hunted":
        told.append(say("Hunted units show that aphids are there, not how many: they do not enter the mean."))
    return tuple(told)
