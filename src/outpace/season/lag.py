"""How long a release takes to show, and what the aphid does meanwhile.

Answered from the facts alone, without a book. Many houses' worth of parameters are drawn from the ranges of
the facts; in each, a hundred insects pass through their stages over the hours of the temperature given.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from outpace.biology.temperature_response import cold_pace, thermal_performance
from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import Fact, Facts, Species, load, weakest
from outpace.language import say
from outpace.measures import degrees
from outpace.measures import temperature as temperature_told
from outpace.season.drawing import Array, Drawing
from outpace.season.lag_words import HORIZON_D, MATCH_WORDS, cautions, sentence
from outpace.season.passage import (
    days_until,
    growth_rate,
    heat_clock,
    hours_ahead,
)

Answer = dict[str, Any]

DRAWS = 400
INSECTS = 100
DUSK_H = 18
"""Releases are let go at dusk; a day is counted when its midnight has passed."""

FORMS = ("mummies", "adults", "pupae", "larvae", "eggs")

COLDEST, HOTTEST = -10.0, 60.0


def lag(
    enemy: str,
    pest: str,
    release: date,
    *,
    temperature: float | None = None,
    hourly: Sequence[float] | None = None,
    temperature_source: str = "typed",
    form: str = "mummies",
    facts: Facts | None = None,
    swing: float | None = None,
    crop: str | None = None,
    seed: int = 1,
) -> Answer:
    """Return when a release can first be seen, when its next brood flies, and the aphid's growth until then.

    Parameters
    ----------
    enemy, pest : str
        Any name the facts know.
    release : date
        The enemies are let go at dusk of this day.
    temperature : float, optional
        Mean temperature in the crop. [°C]
    hourly : sequence of float, optional
        Hourly temperature in the crop from the midnight that begins ``release``, instead of
        ``temperature``; after its end its mean day goes on. [°C]
    temperature_source : str
        Where the temperature comes from, for the reader.
    form : {"mummies", "adults", "pupae", "larvae", "eggs"}
        What is let go; mummies and pupae first have to emerge. A form that this enemy does not come in is
        replaced by its usual one, and the answer says so.
    facts : Facts, optional
        Instead of the tables, for example with rows of this grower's own.
    swing : float, optional
        Daily maximum less minimum around ``temperature``; none is a constant temperature. [°C]
    crop : str, optional
        Any name of a crop; the aphid's reference crop otherwise. A crop that the facts do not know takes
        their general row, and the answer says so.

    Returns
    -------
    answer : dict
        ``outpace.lag/1``; whole days after ``release``. Null where nothing is to be expected.

    Raises
    ------
    OutpaceError
        If a name is unknown, or the temperature is missing or out of reach.
    """
    known = facts or load()
    wasp = known.species[known.resolve(enemy, "enemy")]
    aphid = known.species[known.resolve(pest, "pest")]
    asked, form = form, form if form in wasp.forms else wasp.forms[0]
    if asked != form and asked not in FORMS:
        raise OutpaceError(
            say("form {asked!r}", asked=asked),
            allowed=say("one of {forms}", forms=", ".join(FORMS)),
            code=ExitCode.USAGE,
        )
    hours = hours_ahead(_checked(temperature, hourly, swing), HORIZON_D)
    crop_key = _crop(known, crop, aphid)
    drawing = Drawing(known, DRAWS, seed)
    match = known.one(wasp.key, "host_match", other_species=aphid.key)
    level = int(match.value)
    doubling = math.log(2) / np.maximum(_growth(drawing, aphid, crop_key, hours), 1e-9)

    signs = brood = None
    if level > 0:
        signs, brood = _times(drawing, wasp, aphid, hours, form)
    answer: Answer = {
        "schema": "outpace.lag/1",
        "enemy": _named(wasp),
        "pest": _named(aphid),
        "release": release.isoformat(),
        "form": form,
        "temperature": _temperature(hours, hourly, temperature_source),
        "host_match": {
            "level": level,
            "words": say(MATCH_WORDS[level])
            if aphid.latin
            else say("not known for an aphid that was not named"),
            "source": match.cited,
            "evidence": match.evidence,
        },
        "first_mummies": None,
        "absence_means_something": None,
        "first_look": None,
        "next_brood": None,
        "aphid_doubling_d": _band(doubling, 1) if float(np.median(doubling)) < HORIZON_D else None,
        "doublings_until_next_brood": None,
        "times_until_next_brood": None,
    }
    if signs is not None:
        if wasp.guild == "wasp":
            answer["first_mummies"] = _points(release, signs[0], ("earliest", "likely", "latest"))
            answer["absence_means_something"] = _point(release, _quantile(signs[1], 0.95), late=True)
        answer["first_look"] = _point(release, _quantile(signs[0], 0.25), late=True)
    if brood is not None:
        answer["next_brood"] = _points(release, brood, ("q05", "q50", "q95"))
        if answer["next_brood"] and answer["aphid_doubling_d"]:
            doublings = brood / doubling
            answer["doublings_until_next_brood"] = _band(doublings, 1)
            answer["times_until_next_brood"] = _band(2.0 ** np.minimum(doublings, 60), 0)
    used = (match, *drawing.used)
    answer["sentence"] = sentence(answer, known, wasp, aphid, release)
    answer["facts"] = [_shown(fact) for fact in used]
    answer["evidence_weakest"] = weakest(used)
    answer["cautions"] = cautions(known, wasp, aphid, crop_key, hours, answer)
    if asked != form:
        answer["cautions"].insert(
            0,
            say(
                "{latin} is let go as {form}, not as {asked}: told for {form}",
                latin=wasp.latin,
                form=form,
                asked=asked,
            ),
        )
    return answer


def mean_days(
    enemy: str, pest: str, temperature: float, *, until: str = "adult", facts: Facts | None = None
) -> float:
    """Return the mean days from sting to mummy or to adult at a constant temperature, by the default facts.

    Parameters
    ----------
    until : {"mummy", "adult"}

    Examples
    --------
    >>> round(mean_days("Aphidius colemani", "Aphis gossypii", 25.0), 1)
    9.9
    """
    known = facts or load()
    key = known.resolve(enemy, "enemy")
    other = known.resolve(pest, "pest")
    rate = float(
        thermal_performance(
            temperature,
            known.one(key, "lower_threshold", other_species=other).value,
            known.one(key, "thermal_constant", other_species=other).value,
            known.one(key, "optimum_temperature").value,
            known.one(key, "upper_temperature").value,
        )
    )
    share = known.one(key, "mummy_share").value if until == "mummy" else 1.0
    return share / rate if rate > 0 else math.inf


def _checked(temperature: float | None, hourly: Sequence[float] | None, swing: float | None) -> Array:
    if (temperature is None) == (hourly is None):
        raise OutpaceError(
            say("no temperature") if temperature is None else say("two temperatures"),
            allowed=say("one mean or one hourly record"),
            hint=say("give `--temperature 18`, a climate file or a house"),
            code=ExitCode.USAGE,
        )
    if temperature is not None:
        half = (swing or 0.0) / 2
        clock = np.arange(24)
        hours = temperature + half * np.cos((clock - 14) / 24 * 2 * np.pi)
    else:
        hours = np.asarray(hourly, dtype=np.float64)
        if len(hours) < 24:
            raise OutpaceError(
                say("{hours} hours of temperature", hours=len(hours)),
                allowed=say("must be a whole day or more"),
                code=ExitCode.USAGE,
            )
    wrong = ~np.isfinite(hours) | (hours < COLDEST) | (hours > HOTTEST)
    if wrong.any():
        raise OutpaceError(
            say("temperature {told}", told=temperature_told(hours[wrong][0])),
            allowed=say(
                "must lie between {coldest} and {hottest}",
                coldest=degrees(COLDEST),
                hottest=temperature_told(HOTTEST),
            ),
            hint=say("if it is in Fahrenheit, convert it first"),
            code=ExitCode.USAGE,
        )
    return hours


def _crop(known: Facts, crop: str | None, aphid: Species) -> str:
    """Return the key of the crop; one that is not in the table keeps its name and takes the general rows."""
    if crop is None:
        return aphid.reference_crop
    key = known.resolve_crop(crop)
    if key is not None:
        return key
    names = {name.casefold(): item.english for item in known.crops.values() for name in item.names}
    near = difflib.get_close_matches(crop.casefold(), list(names), n=1, cutoff=0.75)
    if near:
        raise OutpaceError(
            say("no crop called {crop!r}", crop=crop),
            allowed=say("near: {names}", names=names[near[0]]),
            hint=say("a crop of quite another name is taken as one that the facts do not know"),
            code=ExitCode.USAGE,
        )
    return crop


def _growth(drawing: Drawing, aphid: Species, crop: str, hours: Array) -> Array:
    """Return the rate of increase of each draw over the first three weeks, no enemies, no crowding. [d⁻¹]"""
    window = hours[: 21 * 24]
    threshold, constant = drawing.pair(aphid.key)
    upper = drawing.value(aphid.key, "upper_temperature")
    optimum = drawing.value(aphid.key, "optimum_temperature")
    speed = thermal_performance(window[:, None], threshold, constant, optimum, upper).mean(axis=0)
    fecundity = drawing.curve(aphid.key, "lifetime_fecundity", window)
    life = drawing.curve(aphid.key, "adult_life", window)
    crop_share = drawing.curve(aphid.key, "crop_multiplier", window, crop=crop)
    coldest = drawing.facts.by_temperature(aphid.key, "adult_life")[0].temperature_degc
    if coldest is not None:
        middle = drawing.facts.one(aphid.key, "lower_threshold").value
        life = life / np.maximum(cold_pace(window, min(middle, coldest - 1.0), coldest), 1e-6)[:, None]
    aging = (1 / life).mean(axis=0)
    survival = (
        drawing.value(aphid.key, "nymph_survival")
        * drawing.curve(aphid.key, "nymph_survival_multiplier", window).mean(axis=0)
        * (drawing.value(aphid.key, "crop_survival_multiplier", crop=crop) if crop else 1.0)
    )
    return growth_rate(
        nymph_days=1 / np.maximum(speed, 1e-6),
        nymph_cv=drawing.value(aphid.key, "development_cv"),
        survival=np.minimum(survival, 1.0),
        delay=drawing.value(aphid.key, "pre_reproductive_delay"),
        births=(fecundity / life * crop_share).mean(axis=0) / aging,
        adult_days=1 / aging,
        shape=drawing.shape(aphid.key, "fecundity_age_shape", [f"adult {i:02d}" for i in range(1, 11)]),
    )


def _times(
    drawing: Drawing, enemy: Species, aphid: Species, hours: Array, form: str
) -> tuple[tuple[Array, Array] | None, Array | None]:
    """Return per draw the days until a tenth and until half of the first signs, and until the next brood.

    The sign is a mummy for a wasp and a larva for the midge; enemies let go as larvae leave no next brood.
    """
    if enemy.guild not in ("wasp", "midge"):
        return None, None
    threshold, constant = drawing.pair(enemy.key, other=aphid.key)
    upper = drawing.value(enemy.key, "upper_temperature")
    optimum = drawing.value(enemy.key, "optimum_temperature")
    clock = heat_clock(hours[DUSK_H:], threshold, constant, optimum, upper)
    rng = drawing.random
    size = (drawing.draws, INSECTS)
    start = np.zeros(size)
    if form != "adults":
        mean = drawing.value(enemy.key, "emergence_heat")[:, None] / constant[:, None]
        spread = drawing.value(enemy.key, "emergence_spread")[:, None] / constant[:, None]
        start = days_until(clock, start, rng.gamma((mean / spread) ** 2, spread**2 / mean, size))
    delay = drawing.value(enemy.key, "host_finding_delay")[:, None]
    sting = start + rng.exponential(delay, size)
    if enemy.guild == "wasp":
        days = [f"day {i}" for i in range(1, 8)]
        share = drawing.shape(enemy.key, "fecundity_by_day", days)
        sting = sting + rng.choice(len(days), size=size, p=share / share.sum()) + rng.random(size)
        sign_share = drawing.value(enemy.key, "mummy_share")[:, None]
    else:
        sign_share = drawing.value(enemy.key, "instar_share", stage="egg")[:, None]
    cv = drawing.value(enemy.key, "development_cv")[:, None]
    to_sign = rng.gamma(sign_share / cv**2, cv**2, size)
    to_adult = to_sign + rng.gamma((1 - sign_share) / cv**2, cv**2, size)
    signs = days_until(clock, sting, to_sign)
    adults = days_until(clock, sting, to_adult)
    return (_of_draws(signs, 0.1), _of_draws(signs, 0.5)), _of_draws(adults, 0.1)


def _of_draws(days: Array, share: float) -> Array:
    return np.asarray(np.sort(days, axis=1)[:, round(share * days.shape[1])])


def _quantile(days: Array, share: float) -> float:
    return float(np.sort(days)[min(round(share * len(days)), len(days) - 1)])


def _point(release: date, days: float, *, late: bool = False) -> Answer | None:
    if not math.isfinite(days):
        return None
    whole = math.ceil(days) if late else math.floor(days + DUSK_H / 24)
    return {"date": (release + timedelta(days=whole)).isoformat(), "days": whole}


def _points(release: date, days: Array, names: tuple[str, str, str]) -> Answer | None:
    points = [_point(release, _quantile(days, share)) for share in (0.05, 0.5, 0.95)]
    return None if None in points else dict(zip(names, points, strict=True))


def _band(values: Array, digits: int) -> Answer:
    return {
        name: round(_quantile(values, share), digits)
        for name, share in (("q05", 0.05), ("q50", 0.5), ("q95", 0.95))
    }


def _named(species: Species) -> Answer:
    return {"key": species.key, "latin": species.latin or species.english, "english": species.english}


def _temperature(hours: Array, hourly: Sequence[float] | None, source: str) -> Answer:
    days = (hours if hourly is None else np.asarray(hourly, dtype=np.float64))[: len(hours)]
    days = days[: max(len(days) // 24, 1) * 24].reshape(-1, 24)[:21]
    return {
        "mean_degc": round(float(days.mean()), 1),
        "low": round(float(days.min(axis=1).mean()), 1),
        "high": round(float(days.max(axis=1).mean()), 1),
        "source": source,
    }


def _shown(fact: Fact) -> Answer:
    return {
        "key": fact.key,
        "value": fact.value,
        "unit": fact.unit,
        "low": fact.low,
        "high": fact.high,
        "source": fact.source or say("no source"),
        "locator": fact.locator,
        "evidence": fact.evidence,
        "note": fact.note,
    }
