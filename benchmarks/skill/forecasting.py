"""The product's own forecasts and verdicts in a virtual season, beside what then came true."""

from __future__ import annotations

import zlib
from typing import Any

import numpy as np
from benchmarks.skill.reading import House, house_of, mean_written, with_signs
from benchmarks.virtual_house.season import Known, Season
from numpy.typing import NDArray

from outpace.estimation.assimilation import Posterior, refit
from outpace.estimation.bands import HOUSE, QUANTILES
from outpace.estimation.forecast import look_ahead
from outpace.estimation.scoring import crps_ensemble, log_score_ensemble, randomised_pit
from outpace.estimation.verdict import Level, chances, horizon, judge
from outpace.facts.table import Facts

Array = NDArray[np.float64]
Row = dict[str, Any]

AHEAD_D = (7, 14, 21)
LAID_OUT_D = 35


def forecasts_of(season: Season, facts: Facts, members: int, most: int) -> list[Row]:
    """Return a row for each walk from the second on, the first find behind it; at most so many, evenly taken.

    Without members only what was written and what came true is told: all that the naive forecasts learn from.
    """
    able = [
        (number, known)
        for number, known in enumerate(season.known, start=1)
        if number >= 2 and known.found and known.day + AHEAD_D[0] < len(season.mean_by_day)
    ]
    chosen = able if len(able) <= most else [able[i] for i in _spread(len(able), most)]
    return [forecast_at(season, known, number, facts, members) for number, known in chosen]


def _spread(there: int, wanted: int) -> list[int]:
    return sorted({round(x) for x in np.linspace(0, there - 1, wanted)})


def held(known: Known, facts: Facts, members: int) -> tuple[House, Posterior]:
    """Return the house as it is known and what the product holds of it."""
    house = house_of(known, facts, members, LAID_OUT_D)
    starts = [walk.day for walk in house.walks] + [release.day for release in house.releases]
    first = int(min(*starts, house.today)) if starts else house.today
    seed = zlib.crc32(f"{known.place.seed}".encode())
    posterior = refit(
        house.model, facts, house.temperature, house.walks, house.releases, house.sprays,
        first_day=first, until_day=house.today, members=members, seed=seed,
    )  # fmt: skip
    return house, with_signs(house, posterior, facts)


def forecast_at(season: Season, known: Known, number: int, facts: Facts, members: int) -> Row:
    """Return the forecast made after one walk, its verdict, and the truth of both."""
    truth, day = season.mean_by_day, known.day
    changed = min((each for each in season.changed if each > day), default=10**6)
    leaves = float(max(1, round(known.place.leaves)))
    came = {
        days: float(truth[day + days]) for days in AHEAD_D if day + days < len(truth) and changed > day + days
    }
    row: Row = {
        "walk": number,
        "day": day,
        "written": mean_written(known.walks[-1], leaves),
        "written_before": mean_written(known.walks[-2], leaves),
        "gap_d": known.walks[-1].day - known.walks[-2].day,
        "infested": known.walks[-1].infested / len(known.walks[-1].aphids),
        "true_now": float(truth[day]),
        "ahead": {str(days): {"true": true} for days, true in came.items()},
    }
    if not members:
        return row
    house, posterior = held(known, facts, members)
    ahead = look_ahead(
        posterior, posterior.model, house.temperature, house.releases, house.sprays, LAID_OUT_D
    )
    live = ahead.live(0, HOUSE, "plant")
    row["now"] = [float(x) for x in np.quantile(live[0], QUANTILES)]
    row["effective_size"] = posterior.effective_size
    row["rescued"] = len(posterior.rescued)
    row["learned"] = {k.split(".")[1]: round(v, 3) for k, v in posterior.learned.items()}
    for days, true in came.items():
        row["ahead"][str(days)] |= _scores(live[days], true, f"{known.place.seed} {day} {days}")
    row["verdict"] = _verdict(known, house, posterior, ahead, truth, changed, leaves)
    return row


def _scores(members: Array, true: float, name: str) -> Row:
    logs = np.log1p(members)
    return {
        "quantiles": [float(x) for x in np.quantile(members, QUANTILES)],
        "crps_log": float(crps_ensemble(logs, np.log1p(true))),
        "crps": float(crps_ensemble(members, true)),
        "log_score": float(log_score_ensemble(logs, np.log1p(true))),
        "pit": float(randomised_pit(members, true, zlib.crc32(name.encode()))),
    }


def _verdict(
    known: Known, house: House, posterior: Posterior, ahead: Any, truth: Array, changed: int, leaves: float
) -> Row | None:
    days = min(
        horizon(
            house.model,
            posterior.parameters,
            house.temperature,
            today=house.today,
            pest=0,
            releases=house.releases,
        ),
        LAID_OUT_D,
    )
    if known.day + days >= len(truth) or changed <= known.day + days:
        return None
    unit = known.habit.unit
    said = judge(ahead, Level(0, unit, known.level), horizon_d=days)
    per_unit = truth[known.day : known.day + days + 1, None] / (leaves if unit == "leaf" else 1.0)
    stays, ends = chances(per_unit, known.level)
    return {
        "word": said.word,
        "ends_well": said.ends_well,
        "stays_below": said.stays_below,
        "horizon_d": days,
        "above_now": said.above_now,
        "ended_well": bool(ends),
        "stayed_below": bool(stays),
    }
