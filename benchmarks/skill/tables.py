"""What the played seasons say: ``python -m benchmarks.skill.tables held-back`` prints the tables of docs/skill.md."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from benchmarks.skill.naive import NAIVE, members, past_errors
from benchmarks.skill.play import FOLDER
from numpy.typing import NDArray

from outpace.estimation.scoring import covered, crps_ensemble, log_score_ensemble

Array = NDArray[np.float64]
Row = dict[str, Any]

DAYS = (7, 14, 21)
STRATA = ("sparse", "rising", "falling", "ragged holes", "wrong enemy")
DRAWN = 1_000  # bootstrap draws of seasons
FROM_WALK = 4  # the verdict has had its chance to learn
SPARSE = 0.2  # share of units with aphids at or under which a walk counts as sparse
TURN = np.log(1.5)  # between two walks, on log(1 + x): rising or falling


def read(path: Path) -> list[Row]:
    """Return the seasons of a file."""
    return [json.loads(line) for line in path.read_text().splitlines()]


def strata_of(season: Row, row: Row) -> tuple[str, ...]:
    """Return the strata of one forecast; those of walks are told by the walks themselves, not by the truth."""
    turn = np.log1p(row["written"]) - np.log1p(row["written_before"])
    told = {
        "sparse": row["infested"] <= SPARSE,
        "rising": turn >= TURN,
        "falling": turn <= -TURN,
        "ragged holes": "hyperparasitoids" in season["wrongs"],
        "wrong enemy": season["released"] and not season["accepted"],
    }
    return tuple(name for name, is_so in told.items() if is_so)


def cases(seasons: Sequence[Row], development: Sequence[Row]) -> list[Row]:
    """Return one flat row for each forecast and number of days, with the scores of all forecasts."""
    errors = past_errors(row for season in development for row in season["forecasts"])
    flat = []
    for season in seasons:
        for row in season["forecasts"]:
            for days in DAYS:
                then = row["ahead"].get(str(days))
                if then is None:
                    continue
                low, lower, middle, upper, high = then["quantiles"]
                case = {
                    "seed": season["seed"],
                    "wrongs": season["wrongs"],
                    "days": days,
                    "walk": row["walk"],
                    "strata": strata_of(season, row),
                    "in90": low <= then["true"] <= high,
                    "in50": lower <= then["true"] <= upper,
                    "width": np.log1p(high) - np.log1p(low),
                    "bias": np.log1p(then["true"]) - np.log1p(middle),
                    "crps_log": then["crps_log"],
                    "crps": then["crps"],
                    "log_score": then["log_score"],
                    "pit": then["pit"],
                }
                for name in NAIVE:
                    drawn = members(name, row, days, errors)
                    case[f"{name} crps_log"] = float(crps_ensemble(np.log1p(drawn), np.log1p(then["true"])))
                    case[f"{name} crps"] = float(crps_ensemble(drawn, then["true"]))
                    case[f"{name} log_score"] = float(
                        log_score_ensemble(np.log1p(drawn), np.log1p(then["true"]))
                    )
                    case[f"{name} in90"] = bool(covered(drawn, then["true"], 0.9))
                flat.append(case)
    return flat


def interval(
    rows: Sequence[Row], value: Callable[[Sequence[Row]], float], seed: int = 1
) -> tuple[float, float, float]:
    """Return a figure with its 90 % range when whole seasons are drawn anew."""
    by_season: dict[int, list[Row]] = {}
    for row in rows:
        by_season.setdefault(row["seed"], []).append(row)
    groups = list(by_season.values())
    rng = np.random.default_rng(seed)
    drawn = []
    for _ in range(DRAWN if len(rows) < 3_000 else 300):
        picked = rng.integers(0, len(groups), len(groups))
        drawn.append(value([row for i in picked for row in groups[i]]))
    low, high = np.nanquantile(drawn, [0.05, 0.95])
    return value(rows), float(low), float(high)


def mean_of(name: str) -> Callable[[Sequence[Row]], float]:
    """Return the mean of a column."""
    return lambda rows: float(np.mean([row[name] for row in rows])) if rows else float("nan")


def median_of(name: str) -> Callable[[Sequence[Row]], float]:
    """Return the median of a column: a density far out in the tail of a few would rule the mean of its log."""
    return lambda rows: float(np.median([row[name] for row in rows])) if rows else float("nan")


def gain_of(score: str) -> Callable[[Sequence[Row]], float]:
    """Return by what share a score lies below that of the better naive forecast."""

    def gain(rows: Sequence[Row]) -> float:
        if not rows:
            return float("nan")
        own = np.mean([row[score] for row in rows])
        better = min(np.mean([row[f"{name} {score}"] for row in rows]) for name in NAIVE)
        return float(1 - own / better)

    return gain


def percent(figures: tuple[float, float, float]) -> str:
    """Return a share with its range as people read it."""
    return "{:.0f} % ({:.0f} to {:.0f})".format(*(100 * each for each in figures))


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table of a document."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)])


def pooled(flat: Sequence[Row]) -> str:
    """Return scores by days ahead."""
    rows = []
    for days in DAYS:
        here = [row for row in flat if row["days"] == days]
        rows.append(
            [
                f"{days} d",
                str(len(here)),
                percent(interval(here, mean_of("in90"))),
                percent(interval(here, mean_of("in50"))),
                f"{np.exp(mean_of('width')(here)):.1f}-fold",
                percent(interval(here, gain_of("crps_log"))),
                percent(interval(here, gain_of("crps"))),
                f"{median_of('log_score')(here):.2f} against "
                + f"{min(median_of(f'{name} log_score')(here) for name in NAIVE):.2f}",
            ]
        )
    head = ("ahead", "forecasts", "in the 90 % band", "in the 50 % band", "width of the 90 % band",
            "CRPS of log(1+x) below the better naive", "raw CRPS below it", "median log score")  # fmt: skip
    return table(head, rows)


def by_stratum(flat: Sequence[Row]) -> str:
    """Return coverage and gain of each stratum at each number of days."""
    rows = []
    for stratum in STRATA:
        for days in DAYS:
            here = [row for row in flat if row["days"] == days and stratum in row["strata"]]
            if here:
                rows.append(_line(f"{stratum}, {days} d", here))
    return table(LINE_HEAD, rows)


def by_wrong(flat: Sequence[Row]) -> str:
    """Return scores at 14 days for each wrong, the least gain first."""
    rows = []
    names = sorted({wrong for row in flat for wrong in row["wrongs"]})
    for name in [*names, "none"]:
        here = [
            row
            for row in flat
            if row["days"] == 14 and (name in row["wrongs"] or (name == "none" and not row["wrongs"]))
        ]
        if here:
            rows.append((gain_of("crps_log")(here), _line(name.replace("_", " "), here)))
    return table(LINE_HEAD, [line for _, line in sorted(rows, key=lambda each: each[0])])


LINE_HEAD = (
    "",
    "seasons",
    "forecasts",
    "in the 90 % band",
    "CRPS of log(1+x) below the better naive",
    "raw CRPS below it",
    "truth against the middle, log(1+x)",
)


def _line(name: str, here: Sequence[Row]) -> list[str]:
    return [
        name,
        str(len({row["seed"] for row in here})),
        str(len(here)),
        percent(interval(here, mean_of("in90"))),
        percent(interval(here, gain_of("crps_log"))),
        percent(interval(here, gain_of("crps"))),
        f"{mean_of('bias')(here):+.2f}",
    ]


def pit(flat: Sequence[Row]) -> str:
    """Return how many truths fell into each tenth of the forecast, by days ahead."""
    rows = []
    for days in DAYS:
        counts, _ = np.histogram([row["pit"] for row in flat if row["days"] == days], bins=10, range=(0, 1))
        rows.append([f"{days} d", *(f"{100 * n / counts.sum():.0f}" for n in counts)])
    return table(["ahead", *(f"{10 * i} to {10 * i + 10}" for i in range(10))], rows)


def verdicts(seasons: Sequence[Row]) -> str:
    """Return how words and ends met, from the fourth walk on and from the second on."""
    rows = []
    for least in (2, FROM_WALK):
        told = [
            {"seed": season["seed"], **row["verdict"]}
            for season in seasons
            for row in season["forecasts"]
            if row["walk"] >= least and row["verdict"] is not None
        ]
        well = [row for row in told if row["ended_well"]]
        badly = [row for row in told if not row["ended_well"]]
        rows.append(
            [
                f"walk {least} on",
                str(len(told)),
                percent(interval(well, _share("Losing"))),
                percent(interval(badly, _share("Holding"))),
                percent(interval(told, _share("Unclear"))),
                f"{len(well) / max(len(told), 1):.0%}".replace("%", " %"),
            ]
        )
    head = (
        "from",
        "verdicts",
        "ended well, called Losing",
        "ended badly, called Holding",
        "Unclear",
        "ended well",
    )
    return table(head, rows)


def _share(word: str) -> Callable[[Sequence[Row]], float]:
    return lambda rows: float(np.mean([row["word"] == word for row in rows])) if rows else float("nan")


def main() -> None:
    """Print all tables of a set."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("which")
    parser.add_argument("--members", type=int, default=512)
    parser.add_argument("--file", type=Path, default=None)
    parser.add_argument(
        "--naive-from", type=Path, default=None, help="seasons that the naive forecasts learn from"
    )
    asked = parser.parse_args()
    seasons = read(asked.file or FOLDER / f"{asked.which}-{asked.members}.jsonl")
    development = read(asked.naive_from or FOLDER / "development-0.jsonl")
    flat = cases(seasons, development)
    print(
        f"{len(seasons)} seasons, {sum(len(s['forecasts']) for s in seasons)} forecasts, {asked.members} members\n"
    )
    for part in (pooled(flat), by_stratum(flat), by_wrong(flat), pit(flat), verdicts(seasons)):
        print(part + "\n")


if __name__ == "__main__":
    main()
