"""A check of a lot as a person tells it: a pot counted, the sexes, the living on arrival."""

from __future__ import annotations

from outpace.errors import ExitCode, OutpaceError
from outpace.estimation.intervals import clopper_pearson
from outpace.estimation.lot_checks import is_early
from outpace.facts.table import load
from outpace.language import say, to_say
from outpace.measures import temperature
from outpace.season.enter import Entered
from outpace.season.moments import moment
from outpace.season.names import pick_farm, zone_of_farm
from outpace.season.parcels import find_lot
from outpace.season.pot import pot_of, with_warmth
from outpace.season.words import percent
from outpace.terms.enemies import Check, Lot
from outpace.terms.tables import Snapshot

WORDS = {
    "emergence": "emerged",
    "jar": to_say("came out of the jar"),
    "live count": "alive",
    "sex": "females",
}


def check_from_words(
    snapshot: Snapshot,
    lot: str,
    *,
    looked_at: int | None,
    emerged: int | None = None,
    alive: int | None = None,
    females: int | None = None,
    sexed: int | None = None,
    jar: bool = False,
    days: float | None = None,
    degc: float | None = None,
    ragged: int | None = None,
    note: str | None = None,
    on: str | None = None,
    farm: str | None = None,
) -> Entered:
    """Return the checks that a person tells of one lot, with what may and may not be concluded from them.

    Days are counted from the arrival where they are not told.

    Parameters
    ----------
    looked_at : int, optional
        Units in the pot, or animals counted; ``sexed`` of them for the sexes, else those that emerged.

    Raises
    ------
    OutpaceError
        If no count was told, the part is above the whole, or the days are more than the lot has been there.
    """
    there = pick_farm(snapshot, farm)
    zone = zone_of_farm(there)
    parcel = find_lot(snapshot, lot)
    time = moment(on, zone, where="`--on`")
    if parcel.arrived is not None and time < parcel.arrived:
        raise OutpaceError(
            say(
                "lot {lot} came on {zone:%Y-%m-%d %H:%M}, after this check",
                lot=parcel.lot,
                zone=parcel.arrived.astimezone(zone),
            ),
            hint=say("give the time of the check with `--on`"),
            code=ExitCode.USAGE,
        )
    since = None if parcel.arrived is None else round((time - parcel.arrived).total_seconds() / 86400, 1)
    if days is None:
        days = since
    elif since is not None and days > since + 1:
        raise OutpaceError(
            say(
                "day {days:g} of a lot that came {since:g} days before this check",
                days=days,
                since=since,
            ),
            where="`--days`",
            hint=say("leave out `--days`, or give the time of the check with `--on`"),
            code=ExitCode.USAGE,
        )
    counts: list[tuple[str, int, int]] = []
    if emerged is not None:
        counts.append(("jar" if jar else "emergence", _told(looked_at, "--looked-at"), emerged))
    if alive is not None:
        counts.append(("live count", _told(looked_at, "--looked-at"), alive))
    if females is not None:
        base = sexed if sexed is not None else emerged if emerged is not None else looked_at
        counts.append(("sex", _told(base, "--sexed"), females))
    if not counts:
        raise OutpaceError(
            say("nothing was counted"),
            allowed=say("one of `--emerged`, `--alive`, `--females`"),
            hint=say("such as `outpace arrival check LOT --looked-at 50 --emerged 38`"),
            code=ExitCode.USAGE,
        )
    facts = load()
    pot = pot_of(snapshot, facts, there, parcel, snapshot.as_of.astimezone(zone), {})
    rows, said, cautions = [], [], []
    for kind, whole, part in counts:
        if not 0 <= part <= whole:
            raise OutpaceError(
                say("{part} of {whole}: the part is above the whole", part=part, whole=whole),
                hint=say("check the two numbers"),
                code=ExitCode.USAGE,
            )
        row = Check(
            lot=parcel.lot,
            time=time,
            kind=kind,
            looked_at=whole,
            positive=part,
            days=days if kind in ("emergence", "jar") else None,
            degc=degc,
            ragged=ragged if kind in ("emergence", "jar") else None,
            note=note,
        )
        rows.append(row)
        low, high = clopper_pearson(part, whole)
        said.append(
            say(
                "{part} of {whole} {words} (exact 95 % range {low} to {high})",
                part=part,
                whole=whole,
                words=say(WORDS[kind]),
                low=percent(low),
                high=percent(high),
            )
        )
        (warmed,) = with_warmth(pot, [row])
        if is_early(facts, parcel, warmed):
            cautions.append(_early(facts.one(parcel.enemy, "guideline_check_days").value, warmed))
        cautions += _beside(kind, part, whole, ragged, parcel)
    return Entered(
        list(rows), say("Lot {lot}: {said}.", lot=parcel.lot, said="; ".join(said)), tuple(cautions)
    )


def _told(count: int | None, option: str) -> int:
    if count is None:
        raise OutpaceError(
            say("`{option}` is not told", option=option),
            hint=say("add `{option}`", option=option),
            code=ExitCode.USAGE,
        )
    return count


def _early(run_d: float, check: Check) -> str:
    warmth = say(" at {warmth}", warmth=temperature(check.degc)) if check.degc is not None else ""
    return say(
        "Day {days:g} of at least {run_d:g}{warmth}: neither pass nor reject. It is kept and decides "
        "nothing; count the same pot again at its end, leave it in the house until then",
        days=check.days,
        run_d=run_d,
        warmth=warmth,
    )


def _beside(kind: str, part: int, whole: int, ragged: int | None, lot: Lot) -> list[str]:
    told: list[str] = []
    if kind in ("emergence", "jar") and ragged:
        told.append(
            say(
                "{ragged} ragged holes: hyperparasitoids came out. Keep this pot closed, do not open it in "
                "the house",
                ragged=ragged,
            )
        )
    if kind == "sex" and whole - part == whole:
        told.append(say("No female seen: such a lot leaves no offspring; tell the supplier at once"))
    if kind == "live count" and lot.form == "mummies":
        told.append(
            say(
                "A live count of mummies counts what flies already; `--emerged` tells how many come out in "
                "all"
            )
        )
    return told
