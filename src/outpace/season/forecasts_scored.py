"""How past forecasts fared against later walks: those that were kept, or all of them made anew without the future."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

from outpace.estimation.bands import QUANTILES
from outpace.estimation.naive_forecasts import NAIVE, ensemble, middle
from outpace.estimation.scoring import crps_ensemble, log_score_ensemble, randomised_pit
from outpace.facts.table import Facts, load
from outpace.language import day as weekday
from outpace.language import say
from outpace.season.kept_forecasts import SEEN, Look, house_ahead, to_be_seen
from outpace.season.left_out import left_out
from outpace.season.names import houses_of, pick_farm, pick_house, zone_of_farm
from outpace.season.observed import UNKNOWN, means_by_walk, pests_seen, walks_of
from outpace.season.outlook import outlook
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot
from outpace.terms.upkeep import Forecast

Answer = dict[str, Any]
Array = NDArray[np.float64]
Progress = Callable[[str], None]

ABOUT = ((7, 4, 10), (14, 11, 17), (21, 18, 24))
"""Days ahead as they are told, and from which to which day a walk counts to them."""
LAST_D = ABOUT[-1][2]
LEAST_ERRORS = 8
"""A naive forecast needs so many past errors at about the same days ahead."""
MEMBERS = 512
"""Of a forecast made anew for its score; the scores move by less than their own chance."""
TENTHS = 10
DRAWS = 199
FEW = 30
UNLIKELY = 0.05
"""A number of hits that chance makes so seldom is told as too few or too many."""


@dataclass(frozen=True)
class Walked:
    """What one walk wrote of one aphid: the mean per unit of the whole house."""

    day: date
    pest: str
    mean: float
    look: Look


@dataclass(frozen=True)
class Pair:
    """A forecast and the later walk that judges it; ``members`` are draws of what the walk would write."""

    house: str
    pest: str
    made: date
    walked: Walked
    members: Array
    before: tuple[Walked, ...]

    @property
    def days(self) -> int:
        return (self.walked.day - self.made).days

    @property
    def about(self) -> int:
        """The days ahead as they are told."""
        return next(told for told, first, last in ABOUT if first <= self.days <= last)


def review(
    snapshot: Snapshot,
    *,
    farm: str | None = None,
    houses: Sequence[str] | None = None,
    replay: bool = False,
    facts: Facts | None = None,
    members: int = MEMBERS,
    progress: Progress | None = None,
) -> Answer:
    """Return how past forecasts fared as the answer ``outpace.review/1``.

    Parameters
    ----------
    replay : bool, default False
        Make the forecast of each past walk anew, from what had happened by then; else score those kept in the book.
    """
    there = pick_farm(snapshot, farm)
    chosen = [pick_house(snapshot, there, name) for name in houses] if houses else houses_of(snapshot, there)
    pairs: list[Pair] = []
    for house in chosen:
        walked = _walked(snapshot, there, house)
        if replay:
            pairs += _made_anew(snapshot, there, house, walked, facts or load(), members, progress)
        else:
            pairs += _kept(snapshot, there, house, walked)
    cases = [_case(pair) for pair in pairs]
    answer: Answer = {
        "schema": "outpace.review/1",
        "farm": there.farm,
        "as_of": snapshot.as_of.astimezone(zone_of_farm(there)).isoformat(timespec="seconds"),
        "mode": "replay" if replay else "kept",
        "houses": [house.house for house in chosen],
        "by_days_ahead": _by_days(pairs, cases),
        "pit_tenths": [int(n) for n in np.histogram([case["pit"] for case in cases], TENTHS, (0, 1))[0]],
        "cases": cases,
        "cautions": _cautions(cases, replay),
    }
    answer["sentence"] = _sentence(answer)
    return answer


# --- pairs of forecast and walk ------------------------------------------------------------------------------


def _walked(snapshot: Snapshot, farm: Farm, house: House) -> list[Walked]:
    zone = zone_of_farm(farm)
    rows = walks_of(snapshot, farm, house, house.planted)
    pests = pests_seen(rows) or (UNKNOWN,)
    days = {walk.walk: str(walk.time.astimezone(zone).date()) for walk in rows.walks}
    found = []
    for told in means_by_walk(rows, pests, days):
        if told["hunted"]:
            continue
        look = Look(str(told["unit"]), int(str(told["looked_at"])))
        mean = float(str(told["mean"]))
        found.append(Walked(date.fromisoformat(str(told["date"])), str(told["pest"]), mean, look))
    return found


def _judging(walked: Sequence[Walked], pest: str, made: date) -> Iterator[tuple[Walked, tuple[Walked, ...]]]:
    """Yield the later walks that judge a forecast, with those that were known when it was made."""
    before = tuple(each for each in walked if each.pest == pest and each.day <= made)
    for each in walked:
        if each.pest == pest and ABOUT[0][1] <= (each.day - made).days <= LAST_D:
            yield each, before


def _made_anew(
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    walked: Sequence[Walked],
    facts: Facts,
    members: int,
    progress: Progress | None,
) -> list[Pair]:
    zone = zone_of_farm(farm)
    days = sorted({each.day for each in walked})
    last = days[-1] if days else None
    pairs: list[Pair] = []
    for number, made in enumerate(days[1:], 2):
        if last is None or (last - made).days < ABOUT[0][1]:
            break
        if progress:
            progress(
                say(
                    "{house}: forecast of walk {number} of {days} made anew",
                    house=house.house,
                    number=number,
                    days=len(days),
                )
            )
        evening = datetime.combine(made + timedelta(days=1), datetime.min.time(), zone) - timedelta(seconds=1)
        found = outlook(left_out(snapshot, evening, zone), farm, house, facts=facts, members=members)
        if not found.case.found:
            continue
        ahead = house_ahead(found, LAST_D)
        for pest, name in enumerate(found.case.model.pests):
            drawn: dict[Look, Array] = {}
            for later, before in _judging(walked, name, made):
                if later.look not in drawn:
                    drawn[later.look] = to_be_seen(found, ahead, pest, later.look)
                seen = drawn[later.look][(later.day - made).days]
                pairs.append(Pair(house.house, name, made, later, seen, before))
    return pairs


def _kept(snapshot: Snapshot, farm: Farm, house: House, walked: Sequence[Walked]) -> list[Pair]:
    zone = zone_of_farm(farm)
    by_forecast: dict[tuple[str, str, datetime], list[Forecast]] = {}
    for row in snapshot.table(Forecast):
        if row.farm == farm.farm and row.house == house.house and row.quantity.startswith(SEEN):
            unit = row.quantity.removeprefix(SEEN)
            by_forecast.setdefault((row.pest, unit, row.made), []).append(row)
    pairs = []
    for (pest, unit, made), rows in sorted(by_forecast.items()):
        day = made.astimezone(zone).date()
        for later, before in _judging(walked, pest, day):
            if later.look.unit == unit:
                pairs.append(Pair(house.house, pest, day, later, _between(rows, later.day), before))
    return pairs


def _between(rows: Sequence[Forecast], day: date) -> Array:
    """Return draws of a kept forecast for a day: its quantiles by straight lines on log(1 + x), between days too.

    Beyond the outer quantiles the line of the inner ones goes on.
    """
    ordered = sorted(rows, key=lambda row: row.for_date)
    at = [row.for_date.toordinal() for row in ordered]
    levels = np.log1p([[row.q05, row.q25, row.q50, row.q75, row.q95] for row in ordered])
    then = np.array([np.interp(day.toordinal(), at, levels[:, i]) for i in range(len(QUANTILES))])
    places = np.array([0.0, *QUANTILES, 1.0])
    low = then[0] - QUANTILES[0] * (then[1] - then[0]) / (QUANTILES[1] - QUANTILES[0])
    high = then[-1] + QUANTILES[0] * (then[-1] - then[-2]) / (QUANTILES[1] - QUANTILES[0])
    drawn = np.interp((np.arange(DRAWS) + 0.5) / DRAWS, places, np.array([max(low, 0.0), *then, high]))
    return np.asarray(np.expm1(drawn))


# --- scores ---------------------------------------------------------------------------------------------------


def _case(pair: Pair) -> Answer:
    came = pair.walked.mean
    q05, q25, q50, q75, q95 = (float(f"{value:.4g}") for value in np.quantile(pair.members, QUANTILES))
    seed = pair.made.toordinal() * 1000 + pair.days
    return {
        "house": pair.house,
        "pest": pair.pest,
        "unit": pair.walked.look.unit,
        "made": str(pair.made),
        "for_date": str(pair.walked.day),
        "days_ahead": pair.days,
        "seen": came,
        "looked_at": pair.walked.look.looked_at,
        "q05": q05,
        "q25": q25,
        "q50": q50,
        "q75": q75,
        "q95": q95,
        "in_90": bool(q05 <= came <= q95),
        "in_50": bool(q25 <= came <= q75),
        **_scores(pair.members, came),
        "pit": round(float(randomised_pit(pair.members, came, seed)), 4),
    }


def _scores(members: Array, came: float) -> dict[str, float | None]:
    logs = np.log1p(members)
    spread = float(logs.std())
    return {
        "crps_log": round(float(crps_ensemble(logs, np.log1p(came))), 5),
        "crps": round(float(crps_ensemble(members, came)), 5),
        "log_score": round(float(log_score_ensemble(logs, np.log1p(came))), 4) if spread > 0 else None,
    }


def _by_days(pairs: Sequence[Pair], cases: Sequence[Answer]) -> list[Answer]:
    told = []
    for about, first, last in ABOUT:
        here = [(pair, case) for pair, case in zip(pairs, cases, strict=True) if pair.about == about]
        if not here:
            continue
        mine = [case for _, case in here]
        told.append(
            {
                "days_ahead": about,
                "from_days": first,
                "to_days": last,
                "forecasts": len(mine),
                "in_90": sum(case["in_90"] for case in mine),
                "in_50": sum(case["in_50"] for case in mine),
                "width_times": _mean(
                    [np.log1p(case["q95"]) - np.log1p(case["q05"]) for case in mine], np.exp
                ),
                "crps_log": _mean([case["crps_log"] for case in mine]),
                "crps": _mean([case["crps"] for case in mine]),
                "log_score": _mean([case["log_score"] for case in mine if case["log_score"] is not None]),
                "naive": [_naive(name, [pair for pair, _ in here], mine) for name in NAIVE],
            }
        )
    return told


def _mean(values: Sequence[float], of: Callable[[Any], Any] = lambda mean: mean) -> float | None:
    return float(f"{of(np.mean(values)):.4g}") if values else None


def _naive(name: str, pairs: Sequence[Pair], cases: Sequence[Answer]) -> Answer:
    """Return the scores of one naive forecast, and of the tool where that one could be made too.

    Its spread comes from its errors in all other cases of the farm at about as many days ahead.
    """
    points = [_point(name, pair) for pair in pairs]
    misses = [
        None if point is None else float(np.log1p(pair.walked.mean)) - point
        for point, pair in zip(points, pairs, strict=True)
    ]
    scored: list[tuple[dict[str, float | None], Answer]] = []
    for index, (point, pair) in enumerate(zip(points, pairs, strict=True)):
        others = [miss for i, miss in enumerate(misses) if miss is not None and i != index]
        if point is not None and len(others) >= LEAST_ERRORS:
            scored.append((_scores(ensemble(point, others), pair.walked.mean), cases[index]))
    own = _mean([case["crps_log"] for _, case in scored])
    theirs = _mean([float(score["crps_log"] or 0.0) for score, _ in scored])
    own_raw = _mean([case["crps"] for _, case in scored])
    theirs_raw = _mean([float(score["crps"] or 0.0) for score, _ in scored])
    return {
        "name": name,
        "forecasts": len(scored),
        "crps_log": theirs,
        "crps": theirs_raw,
        "log_score": _mean([score["log_score"] for score, _ in scored if score["log_score"] is not None]),
        "below_it_log": _below(own, theirs),
        "below_it": _below(own_raw, theirs_raw),
    }


def _point(name: str, pair: Pair) -> float | None:
    same = [each for each in pair.before if each.look.unit == pair.walked.look.unit]
    if not same:
        return None
    now = same[-1]
    earlier = same[-2] if len(same) > 1 else None
    gap = (now.day - earlier.day).days if earlier else 0
    return middle(name, now.mean, earlier.mean if earlier else None, gap, (pair.walked.day - now.day).days)


def _below(own: float | None, theirs: float | None) -> float | None:
    return round(1 - own / theirs, 3) if own is not None and theirs else None


# --- words ----------------------------------------------------------------------------------------------------


def _sentence(answer: Answer) -> str:
    hits = sum(row["in_90"] for row in answer["by_days_ahead"])
    all_ = sum(row["forecasts"] for row in answer["by_days_ahead"])
    today = date.fromisoformat(answer["as_of"][:10])
    if not all_:
        how = (
            say("no forecast has two walks to stand on and one to judge it")
            if answer["mode"] == "replay"
            else say(
                "no forecast that was kept has met a later walk; keep this week's with `outpace week --keep`"
            )
        )
        return say("Walk again by {today}: {how}.", today=weekday(today + timedelta(days=7)), how=how)
    verb = say("Read the bands as they stand")
    if binom.cdf(hits, all_, 0.9) < UNLIKELY:
        verb = say("Read the bands as too narrow")
    elif binom.sf(hits - 1, all_, 0.9) < UNLIKELY:
        verb = say("Read the bands as too wide")
    return say(
        "{verb}, by {today}: {hits} of {all} later walks fell into the 90 % band.",
        verb=verb,
        today=weekday(today),
        hits=hits,
        all=all_,
    )


def _cautions(cases: Sequence[Answer], replay: bool) -> list[str]:
    told = [
        say(
            "A walk is judged against what such a walk would show, missed aphids and few units included, "
            "not against the true mean"
        )
    ]
    if replay:
        told.append(say("Made anew by today's program and facts; corrections made later stand as corrected"))
        told.append(
            say(
                "What was done after a forecast and not yet ordered when it was made counts against it: a "
                "release, a spray, leaves taken off"
            )
        )
    else:
        told.append(say("Scores of kept forecasts are worked out from the five quantiles that were kept"))
    if 0 < len(cases) < FEW:
        told.append(
            say("{cases} pairs of forecast and walk are few; those of one house are alike", cases=len(cases))
        )
    return told
