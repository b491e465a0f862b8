"""What else a farm writes down: plants in, sticky cards, harvests, decisions, permits."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import load
from outpace.language import say, say_many, to_say
from outpace.season.enter import Entered, key_from, plain_name
from outpace.season.moments import moment
from outpace.season.names import pick_farm, pick_house, zone_of_farm
from outpace.season.register import crop_name, enemy_name
from outpace.season.words import weekday
from outpace.terms.place import PlantsIn
from outpace.terms.scouting import Card
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Decision, Harvest, Permit

ASK_RAISER = to_say(
    "Ask who raised them what was sprayed, and when: a residue on incoming plants kills what you release. "
    "Until then it is not known, and unknown is not none."
)


SPRAYS_TOLD = ("yes", "no", "unknown")


def plants_in(
    snapshot: Snapshot,
    crop: str,
    told: Mapping[str, Any],
    *,
    batch: str | None = None,
    house: str | None = None,
    on: str | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return a batch of plants that came in, with what was told of their sprays.

    Parameters
    ----------
    told : mapping
        ``source``, ``number``, ``looked_at``, ``finds``, ``sprays_told`` (yes, no, unknown) and ``sprays``.
    batch : str, optional
        Its name; left out, one is made of crop, source and time.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house) if house else None
    zone = zone_of_farm(there)
    when = moment(on, zone, where="`--on`", now=now)
    known = load().resolve_crop(crop)
    row = PlantsIn(
        batch=plain_name(batch, "batch")
        if batch
        else key_from(crop, there.farm, told.get("source") or "", when.astimezone(UTC).isoformat()),
        farm=there.farm,
        house=place.house if place else None,
        time=when,
        crop=known or plain_name(crop, "crop"),
        **told,
    )
    if row.sprays and row.sprays_told is None:
        answer = row.sprays.strip().lower()
        if answer in SPRAYS_TOLD:
            # "Unknown" is no product: the answer stands where the question was meant.
            row = dataclasses.replace(row, sprays_told=answer, sprays=None)
        else:
            row = dataclasses.replace(row, sprays_told="yes")
    cautions = []
    if row.sprays_told in (None, "unknown"):
        cautions.append(say(ASK_RAISER))
    elif row.sprays_told == "yes" and not row.sprays:
        cautions.append(say("Write down what was sprayed, and when, with `--sprays`."))
    if row.looked_at is None:
        cautions.append(say("How many were looked at was not told: not recorded is not the same as clean."))
    number = say("Plants") if row.number is None else say_many("{n} plant", "{n} plants", row.number)
    to = say(" for {house}", house=place.house) if place else ""
    day = weekday(when.astimezone(zone).date())
    said = say(
        "{number} ({crop}){to} written down, {day}: batch {batch}.",
        number=number,
        crop=crop_name(row.crop),
        to=to,
        day=day,
        batch=row.batch,
    )
    return Entered([row], said, tuple(cautions))


def card(
    snapshot: Snapshot,
    house: str,
    name: str,
    *,
    winged: int | None = None,
    hung: str | None = None,
    taken: bool = False,
    zone: str | None = None,
    on: str | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return what a sticky card has caught; a card that hangs already keeps the day it was hung.

    Raises
    ------
    OutpaceError
        If a card is new and the day it was hung is not told, or it was hung after it was looked at.
    """
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    clock = zone_of_farm(there)
    only_hung = on is None and hung is not None and winged is None and not taken
    when = moment(hung if only_hung else on, clock, where="`--hung`" if only_hung else "`--on`", now=now)
    mine = sorted(
        (
            row
            for row in snapshot.table(Card)
            if (row.farm, row.house, row.card) == (there.farm, place.house, name)
            and (row.taken is None or row.taken >= when)
        ),
        key=lambda row: row.time,
    )
    if hung is None and not mine:
        since = when
    else:
        since = mine[-1].hung if hung is None else moment(hung, clock, where="`--hung`", now=now)
    if since > when:
        raise OutpaceError(
            say("it was hung after it was looked at"),
            where="`--hung`",
            hint=say("write the day it was hung, and the day it was looked at with `--on`"),
            code=ExitCode.USAGE,
        )
    row = Card(
        farm=there.farm,
        house=place.house,
        card=plain_name(name, "card"),
        hung=since,
        taken=when if taken else None,
        time=when,
        zone=zone or (mine[-1].zone if mine else None),
        winged=winged,
    )
    cautions = []
    if since == when and winged is not None:
        cautions.append(say("Hung and looked at in the same moment: tell the day it was hung with `--hung`."))
    if winged is None and since != when:
        cautions.append(say("How many winged aphids it held was not told: not recorded is not zero."))
    told = (
        say("winged aphids not counted") if winged is None else say("{winged} winged aphids", winged=winged)
    )
    caught = say("hung") if since == when and winged is None else told
    sentence = say(
        "{house}, card {card}: {caught}, {date}.",
        house=place.house,
        card=row.card,
        caught=caught,
        date=weekday(when.astimezone(clock).date()),
    )
    return Entered([row], sentence, tuple(cautions))


def harvest(
    snapshot: Snapshot,
    house: str,
    code: str,
    *,
    amount: float | None = None,
    unit: str | None = None,
    zone: str | None = None,
    on: str | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return a harvest with the code that goes with it to the buyer."""
    from outpace.season.sprayed import in_zone, moment_words, sprays_of

    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    clock = zone_of_farm(there)
    when = moment(on, clock, where="`--on`", now=now)
    name = plain_name(code, say("harvest code"))
    row = Harvest(
        harvest=key_from(name, there.farm, place.house, zone or "", when.astimezone(UTC).date().isoformat()),
        farm=there.farm,
        house=place.house,
        zone=zone,
        time=when,
        lot_code=name,
        amount=amount,
        unit=unit,
    )
    cautions = []
    for item in in_zone(sprays_of(snapshot, load(), there, place), zone):
        wait = item.clocks.picking
        if item.row.start > when:
            continue
        if wait.until is None:
            cautions.append(
                say(
                    "{called}: {lacks} not entered. Do not sell before the label was read: call your "
                    "adviser or buyer.",
                    called=item.called,
                    lacks=", ".join(wait.lacks),
                )
            )
        elif when < wait.until:
            cautions.append(
                say(
                    "{called}: picking had to wait until {until}. Do not sell it; call your adviser or "
                    "buyer.",
                    called=item.called,
                    until=moment_words(wait.until, clock),
                )
            )
    day = weekday(when.astimezone(clock).date())
    size = "" if amount is None else f", {amount:g} {unit or ''}".rstrip()
    return Entered(
        [row],
        say(
            "{house}: harvest {name} of {day} written down{size}.",
            house=place.house,
            name=name,
            day=day,
            size=size,
        ),
        tuple(cautions),
    )


def decision(
    snapshot: Snapshot,
    house: str,
    chosen: str,
    *,
    reason: str | None = None,
    verdict: str | None = None,
    person: str | None = None,
    on: str | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return a decision with its reason, as an auditor asks for it."""
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    clock = zone_of_farm(there)
    when = moment(on, clock, where="`--on`", now=now)
    words = " ".join(chosen.split())
    if not words:
        raise OutpaceError(
            say("what was decided is not told"),
            hint=say('write it in words: `"wait a week"`'),
            code=ExitCode.USAGE,
        )
    row = Decision(
        decision=key_from(place.house, there.farm, when.astimezone(UTC).isoformat(), words),
        farm=there.farm,
        house=place.house,
        time=when,
        verdict=verdict,
        chosen=words,
        reason=" ".join(reason.split()) if reason else None,
        person=person,
    )
    cautions = (say("Why was not told: an auditor asks for the reason (`--because`)."),) if not reason else ()
    day = weekday(when.astimezone(clock).date())
    return Entered(
        [row], say("{house}, {day}: decided: {words}.", house=place.house, day=day, words=words), cautions
    )


def permit(
    snapshot: Snapshot,
    enemy: str,
    *,
    seen: bool,
    number: str | None = None,
    country: str | None = None,
    on: str | None = None,
    farm: str | None = None,
    now: datetime | None = None,
) -> Entered:
    """Return that the permit or list entry of an enemy was looked up for a country.

    Raises
    ------
    OutpaceError
        If the country is neither told nor known from the farm.
    """
    there = pick_farm(snapshot, farm)
    where = (country or there.country or "").upper()
    if not where:
        raise OutpaceError(
            say("the country is not told"),
            hint=say("add `--country CODE`, or tell it once with `outpace farm NAME --country CODE`"),
            code=ExitCode.USAGE,
        )
    species = load().resolve(enemy, kind="enemy")
    when = moment(on, zone_of_farm(there), where="`--on`", now=now)
    before = {(row.farm, row.enemy, row.country): row for row in snapshot.table(Permit)}
    held = before.get((there.farm, species, where))
    number = number or (held.number if held is not None else None)
    row = Permit(farm=there.farm, enemy=species, country=where, seen=seen, number=number, time=when)
    cautions = []
    if not seen:
        cautions.append(
            say(
                "Order no {species} before permit or list entry was seen: check with your authority.",
                species=enemy_name(species),
            )
        )
    elif number is None:
        cautions.append(say("Its number was not told (`--number`): an auditor asks for it."))
    word = say("seen") if seen else say("not seen")
    return Entered(
        [row],
        say(
            "{species}, {where}: permit or list entry {word}.",
            species=enemy_name(species),
            where=where,
            word=word,
        ),
        tuple(cautions),
    )
