"""A jar of closed mummies from the crop, put up on a walk, and what came out of it later, as rows of the book."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from outpace.errors import ExitCode, OutpaceError
from outpace.estimation.intervals import clopper_pearson
from outpace.language import say
from outpace.season.enter import Entered
from outpace.season.moments import moment
from outpace.season.names import pick_farm, pick_house, zone_of_farm
from outpace.season.observed import FROM_JAR, IN_JAR, CropJar, walks_of
from outpace.season.words import percent, weekday
from outpace.terms.scouting import Seen, Walk
from outpace.terms.tables import Snapshot

MUMMIES, WASPS, HYPERPARASITOIDS = "mummies", "wasps", "hyperparasitoids"


def crop_jar(
    snapshot: Snapshot,
    house: str,
    *,
    put_in: int | None = None,
    wasps: int | None = None,
    hyperparasitoids: int | None = None,
    walked: str | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return what was put into a jar of the crop's own mummies, or what came out of it.

    Parameters
    ----------
    put_in, wasps, hyperparasitoids : int, optional
        Closed mummies put in; animals that came out, both or neither: a share needs both.
    walked : str, optional
        Day of the walk on which the mummies were taken. Left out: for what came out, the last walk with a jar of which
        nothing is told yet; else the last walk.

    Raises
    ------
    OutpaceError
        If nothing is told, one kind that came out without the other, no walk is there, or more came out than were put
        in.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    clock = zone_of_farm(there)
    if put_in is None and wasps is None and hyperparasitoids is None:
        raise OutpaceError(
            say("neither what was put into the jar nor what came out of it is told"),
            hint=say(
                "tell `--put-in NUMBER` on the day, `--wasps NUMBER` and `--hyperparasitoids NUMBER` later"
            ),
            code=ExitCode.USAGE,
        )
    if (wasps is None) != (hyperparasitoids is None):
        lacks = "--wasps" if wasps is None else "--hyperparasitoids"
        raise OutpaceError(
            say("what came out is told of one kind only"),
            where=f"`{lacks}`",
            hint=say("tell both; 0 where none came out, for not told is not zero"),
            code=ExitCode.USAGE,
        )
    known = walks_of(snapshot, there, place, place.planted)
    rows = [row for row in snapshot.table(Seen) if row.walk in {walk.walk for walk in known.walks}]
    came_out = wasps is not None or hyperparasitoids is not None
    open_ones = [
        walk for walk in known.walks if _put_in(rows, walk) is not None and walk.walk not in known.jars
    ]
    if walked is not None:
        day = moment(walked, clock, where="`--walked`", now=now).astimezone(clock).date()
        of_day = [walk for walk in known.walks if walk.time.astimezone(clock).date() == day]
    else:
        of_day = open_ones if came_out and put_in is None and open_ones else list(known.walks)
    if not of_day:
        raise OutpaceError(
            say("no walk of {house} to take mummies on", house=place.house)
            if walked is None
            else say("no walk of {house} on {day}", house=place.house, day=weekday(day)),
            where="`--walked`",
            hint=say("write the walk down first, or tell the day of another with `--walked DATE`"),
            code=ExitCode.USAGE,
        )
    walk = of_day[-1]
    held = put_in if put_in is not None else _put_in(rows, walk)
    jar = CropJar(held, wasps or 0, hyperparasitoids or 0)
    if held is not None and jar.came_out > held:
        raise OutpaceError(
            say("{out} came out of {held} mummies", out=jar.came_out, held=held),
            where="`--wasps`",
            allowed=say("at most one animal of a mummy"),
            hint=say(
                "count again, or mend what was put in with `--put-in {out} --correct`", out=jar.came_out
            ),
            code=ExitCode.USAGE,
        )
    unit = _unit(rows, walk)
    made = []
    if put_in is not None:
        made.append(Seen(walk=walk.walk, unit_no=unit, organism=MUMMIES, stage=IN_JAR, number=put_in))
    if came_out:
        for name, number in ((WASPS, jar.wasps), (HYPERPARASITOIDS, jar.hyperparasitoids)):
            made.append(Seen(walk=walk.walk, unit_no=unit, organism=name, stage=FROM_JAR, number=number))
    day = walk.time.astimezone(clock).date()
    said = (
        say(
            "{house}: of the jar of {day} {wasps} wasps and {others} hyperparasitoids came out.",
            house=place.house, day=weekday(day), wasps=jar.wasps, others=jar.hyperparasitoids,
        )
        if came_out
        else say(
            "{house}: {put_in} closed mummies of the walk of {day} are in a jar.",
            house=place.house, put_in=put_in, day=weekday(day),
        )
    )  # fmt: skip
    return Entered(made, said, _cautions(jar, came_out=came_out))


def _put_in(rows: Sequence[Seen], walk: Walk) -> int | None:
    """Return how many mummies of a walk stand in a jar; None where no jar is told."""
    told = [row.number for row in rows if row.walk == walk.walk and _stage(row) == IN_JAR and row.number]
    return sum(told) if told else None


def _unit(rows: Sequence[Seen], walk: Walk) -> int:
    """Return the number under which the jar of a walk stands: its own, else one past the plants with animals seen."""
    mine = [row for row in rows if row.walk == walk.walk]
    jars = [row.unit_no for row in mine if _stage(row) in (IN_JAR, FROM_JAR)]
    return jars[0] if jars else 1 + max((row.unit_no for row in mine), default=0)


def _stage(row: Seen) -> str:
    return (row.stage or "").strip().lower()


def _cautions(jar: CropJar, *, came_out: bool) -> tuple[str, ...]:
    if not came_out:
        _, most = clopper_pearson(0, jar.put_in or 0)
        return (
            say(
                "Keep it dry, shaded and closed until nothing more comes out, then count with `--wasps` and "
                "`--hyperparasitoids`. Even if none of {number} is a hyperparasitoid, up to {most} may be in the crop.",
                number=jar.put_in,
                most=percent(most),
            ),
        )
    if not jar.came_out:
        return (
            say("Nothing came out: that tells nothing of hyperparasitoids, and maybe something of sprays."),
        )
    _, most = clopper_pearson(jar.hyperparasitoids, jar.came_out)
    return (
        say(
            "Of {number} that came out {share} were hyperparasitoids: in the crop it may be up to {most}.",
            number=jar.came_out,
            share=percent(jar.hyperparasitoids / jar.came_out),
            most=percent(most),
        ),
    )
