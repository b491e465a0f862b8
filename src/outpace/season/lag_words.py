"""The words of a lag: what to do, what stands in the way, and which enemy would fit."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np

from outpace.facts.table import Facts, Species
from outpace.language import day as written_day
from outpace.language import say, to_say
from outpace.measures import temperature
from outpace.season.drawing import Array
from outpace.season.studied import domain_cautions

Answer = dict[str, Any]

HORIZON_D = 180
"""What takes longer is told as not to be expected. [d]"""

MATCH_WORDS = {
    2: to_say("accepts this aphid well"),
    1: to_say("accepts this aphid in part or poorly"),
    0: to_say("does not accept this aphid"),
}


def sentence(answer: Answer, known: Facts, enemy: Species, aphid: Species, release: date) -> str:
    """Return the one sentence of the answer: a verb, a day, a number."""
    if answer["host_match"]["level"] == 0:
        if not aphid.latin:
            return say(
                "Name the aphid first, with a lens or by a sample sent in: {latin} promises 0 mummies on "
                "an aphid that is not named.",
                latin=enemy.latin,
            )
        return (
            say(
                "No mummies will come: {latin} does not accept {latin2}. Order one that fits: {known}.",
                latin=enemy.latin,
                latin2=aphid.latin,
                known=_fitting(known, aphid),
            )
            if enemy.guild == "wasp"
            else say(
                "Nothing will come of it: {latin} does not take {latin2}.",
                latin=enemy.latin,
                latin2=aphid.latin,
            )
        )
    if enemy.guild not in ("wasp", "midge"):
        return say(
            "Look at the tagged spots on {release}, 4 days after the release: {latin} leaves no mummies, "
            "count live aphids.",
            release=_say((release + timedelta(days=4)).isoformat()),
            latin=enemy.latin,
        )
    look = answer["first_look"]
    if look is None:
        return say(
            "Wait for warmth: at this temperature nothing shows within {horizon_d} days.", horizon_d=HORIZON_D
        )
    sign = say("mummies") if enemy.guild == "wasp" else say("orange larvae")
    return say(
        "Look for {sign} on {date}: {days} days after the release.",
        sign=sign,
        date=_say(look["date"]),
        days=look["days"],
    )


def cautions(
    known: Facts, enemy: Species, aphid: Species, crop: str, hours: Array, answer: Answer
) -> list[str]:
    """Return what the reader must know beside the dates, each in one line."""
    days = hours[: 21 * 24].reshape(-1, 24)
    mean, hottest = float(days.mean()), float(days.max())
    optimum = known.one(enemy.key, "optimum_temperature").value
    low = known.one(enemy.key, "activity_low_temperature").value
    high = known.one(enemy.key, "activity_high_temperature").value
    heat = known.one("", "heat_caution").value
    place = (
        say("on {english}", english=known.crops[crop].english if crop in known.crops else crop)
        if crop
        else say("on any crop")
    )
    said = [say("The aphid grows without enemies, crowding or new arrivals here, {place}", place=place)]
    if crop and crop not in known.crops:
        said.append(say("Nothing is known of aphids on {crop}: a wide general figure stands in", crop=crop))
    if answer["host_match"]["level"] == 1:
        said.append(say("A partial match: mummies may be few or none, whatever the date"))
    if (
        answer["host_match"]["level"] > 0
        and answer["next_brood"] is None
        and enemy.guild in ("wasp", "midge")
    ):
        said.append(
            say(
                "Too cold or too hot: not every case brings a next brood within {horizon_d} days",
                horizon_d=HORIZON_D,
            )
        )
    if answer["aphid_doubling_d"] is None:
        said.append(say("At this temperature the aphid does not multiply"))
    through = _left_by_heat(known, enemy, days.ravel())
    if through < 0.7 and answer["host_match"]["level"] > 0:
        said.append(
            say(
                "Such heat leaves about {through} % of the young that would come through",
                through=round(100 * through),
            )
        )
    if mean < low + 2:
        said.append(
            say("Near or below {low} they hardly search: few stings, later dates", low=temperature(low))
        )
    used = ("development", "immature_survival", "lifetime_fecundity", "adult_life")
    said += domain_cautions(known, [aphid.key, enemy.key], days, used)
    if hottest > optimum:
        said.append(
            say(
                "Above {optimum} development slows and more die; figures there are weaker",
                optimum=temperature(optimum),
            )
        )
    if hottest > high:
        said.append(
            say(
                "Above {high} they hardly search and may die: shade, and put off the release",
                high=temperature(high),
            )
        )
    if hottest > heat:
        said.append(
            say(
                "Above {heat} in the crop: work in the early hours, with water and a partner; keep "
                "parcels in the shade",
                heat=temperature(heat),
            )
        )
    if enemy.guild == "midge":
        said.append(say("The midge needs a soft, damp floor to pupate and goes to rest in short days"))
    return said


def _left_by_heat(known: Facts, enemy: Species, hours: Array) -> float:
    rows = known.by_temperature(enemy.key, "immature_survival")
    at = [row.temperature_degc or 0.0 for row in rows]
    left = np.interp(hours, at, [row.value for row in rows]) / rows[0].value
    return float(left.mean())


def _fitting(known: Facts, aphid: Species) -> str:
    fit = [
        item.latin
        for item in known.species.values()
        if item.kind == "enemy" and known.one(item.key, "host_match", other_species=aphid.key).value == 2
    ]
    return ", ".join(fit)


def _say(day: str) -> str:
    moment = date.fromisoformat(day)
    return written_day(moment)
