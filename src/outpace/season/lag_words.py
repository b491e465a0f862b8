"""The words of a lag: what to do, what stands in the way, and which enemy would fit."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np

from outpace.facts.table import Facts, Species
from outpace.season.drawing import Array
from outpace.season.studied import domain_cautions

Answer = dict[str, Any]

HORIZON_D = 180
"""What takes longer is told as not to be expected. [d]"""

MATCH_WORDS = {
    2: "accepts this aphid well",
    1: "accepts this aphid in part or poorly",
    0: "does not accept this aphid",
}


def sentence(answer: Answer, known: Facts, enemy: Species, aphid: Species, release: date) -> str:
    """Return the one sentence of the answer: a verb, a day, a number."""
    if answer["host_match"]["level"] == 0:
        if not aphid.latin:
            return (
                "Name the aphid first, with a lens or by a sample sent in: "
                f"{enemy.latin} promises 0 mummies on an aphid that is not named."
            )
        return (
            f"No mummies will come: {enemy.latin} does not accept {aphid.latin}. "
            f"Order one that fits: {_fitting(known, aphid)}."
            if enemy.guild == "wasp"
            else f"Nothing will come of it: {enemy.latin} does not take {aphid.latin}."
        )
    if enemy.guild not in ("wasp", "midge"):
        return (
            f"Look at the tagged spots on {_say((release + timedelta(days=4)).isoformat())}, "
            f"4 days after the release: {enemy.latin} leaves no mummies, count live aphids."
        )
    look = answer["first_look"]
    if look is None:
        return f"Wait for warmth: at this temperature nothing shows within {HORIZON_D} days."
    sign = "mummies" if enemy.guild == "wasp" else "orange larvae"
    return f"Look for {sign} on {_say(look['date'])}: {look['days']} days after the release."


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
    place = f"on {known.crops[crop].english if crop in known.crops else crop}" if crop else "on any crop"
    said = [f"The aphid grows without enemies, crowding or new arrivals here, {place}"]
    if crop and crop not in known.crops:
        said.append(f"Nothing is known of aphids on {crop}: a wide general figure stands in")
    if answer["host_match"]["level"] == 1:
        said.append("A partial match: mummies may be few or none, whatever the date")
    if (
        answer["host_match"]["level"] > 0
        and answer["next_brood"] is None
        and enemy.guild in ("wasp", "midge")
    ):
        said.append(f"Too cold or too hot: not every case brings a next brood within {HORIZON_D} days")
    if answer["aphid_doubling_d"] is None:
        said.append("At this temperature the aphid does not multiply")
    through = _left_by_heat(known, enemy, days.ravel())
    if through < 0.7 and answer["host_match"]["level"] > 0:
        said.append(f"Such heat leaves about {round(100 * through)} % of the young that would come through")
    if mean < low + 2:
        said.append(f"Near or below {low:g} °C they hardly search: few stings, later dates")
    used = ("development", "immature_survival", "lifetime_fecundity", "adult_life")
    said += domain_cautions(known, [aphid.key, enemy.key], days, used)
    if hottest > optimum:
        said.append(f"Above {optimum:g} °C development slows and more die; figures there are weaker")
    if hottest > high:
        said.append(f"Above {high:g} °C they hardly search and may die: shade, and put off the release")
    if hottest > heat:
        said.append(
            f"Above {heat:g} °C in the crop: work in the early hours, with water and a partner; "
            "keep parcels in the shade"
        )
    if enemy.guild == "midge":
        said.append("The midge needs a soft, damp floor to pupate and goes to rest in short days")
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
    return f"{moment:%a} {moment.day} {moment:%b}"
