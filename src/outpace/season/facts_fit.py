"""Own or published trials fitted: development at temperatures, prey eaten at densities; what may be kept of it."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from outpace.biology.curve_fit import (
    Estimate,
    FunctionalResponseFit,
    TemperatureFit,
    fit_curves,
    fit_functional_response,
    fit_temperature_curve,
)
from outpace.biology.curve_shapes import CURVES
from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import Facts, load
from outpace.intake.trial_table import FEEDING, Trial, TrialTold, read_trial

Answer = dict[str, Any]

TITLES = {
    "linear": "straight line",
    "thermal_performance": "line up, line down",
    "briere1": "Brière 1",
    "briere2": "Brière 2",
    "lactin1": "Lactin 1",
    "lactin2": "Lactin 2",
    "logan6": "Logan 6",
    "gaussian": "bell (Taylor)",
    "sharpe_schoolfield": "Sharpe-Schoolfield",
}
UNITS = {
    "lower_threshold": "degC",
    "thermal_constant": "degC d",
    "optimum": "degC",
    "upper": "degC",
    "lower": "degC",
    "width": "degC",
    "spread": "degC",
    "rise": "degC-1",
    "shift": "d-1",
    "peak": "d-1",
    "root": "1",
    "reference_rate": "d-1",
    "activation": "J mol-1",
    "cold_energy": "J mol-1",
    "heat_energy": "J mol-1",
    "cold_half": "degC",
    "heat_half": "degC",
}
SCALE_UNITS = {"briere1": "d-1 degC-2.5", "briere2": "d-1 degC-(2 + 1/root)", "logan6": "d-1"}
OWN = {
    "lower_threshold": "lower_threshold",
    "thermal_constant": "thermal_constant",
    "optimum": "optimum_temperature",
    "upper": "upper_temperature",
}
"""Parameters of the house's own curve, by the quantity of the facts that they would stand for."""
CLOSE = 2.0
"""Curves whose AICc lies this near the best are as good by these data (Burnham and Anderson 2002; recalled)."""


def fit_answer(
    path: Path,
    told: TrialTold,
    *,
    replaced: bool | None = None,
    species: str | None = None,
    other_species: str | None = None,
    crop: str | None = None,
    seasons: int = 1,
    facts: Facts | None = None,
) -> Answer:
    """Return what a trial tells, as ``outpace.facts_fit/1``.

    Parameters
    ----------
    replaced : bool, optional
        Feeding trials: whether eaten prey was put back at once.
    species, other_species, crop : str, optional
        Of whom and on what, for rows of own facts.
    seasons : int
        Seasons the trial spans, for those rows.

    Raises
    ------
    OutpaceError
        If the table cannot be read, or no curve fits.
    """
    known = facts or load()
    key = known.resolve(species) if species else None
    other = known.resolve(other_species) if other_species else None
    plant = _crop(known, crop)
    trial = read_trial(path, told)
    made = _fed(trial, replaced) if trial.kind == FEEDING else _grew(trial)
    own = [
        {"species": key, "other_species": other, "crop": plant, **row, "seasons": seasons}
        for row in made.pop("own")
    ]
    return {
        "schema": "outpace.facts_fit/1",
        "file": str(path),
        "kind": trial.kind,
        "sentence": made.pop("sentence"),
        "columns": trial.columns,
        "rows": len(trial.x),
        "left_out": [{"row": row, "why": why} for row, why in trial.left_out],
        **made,
        "own_facts": own,
        "how_to": _how_to(own, key, path),
        "cautions": [*trial.assumed, *made["cautions"]],
    }


def own_facts_csv(answer: Answer) -> str:
    """Return the rows of own facts as a table that `outpace book import` takes.

    Raises
    ------
    OutpaceError
        If there are none, or nobody said of which species.
    """
    rows = answer["own_facts"]
    if not rows:
        raise OutpaceError(
            "nothing of this trial can stand among own facts",
            where=f"`{answer['file']}`",
            allowed="a line of development over three temperatures or more, or a handling time",
            hint="add temperatures to the trial",
        )
    if rows[0]["species"] is None:
        raise OutpaceError(
            "no species told",
            where="`--own-facts`",
            allowed="a species of the facts",
            hint='add `--species "Aphidius colemani"`',
            code=ExitCode.USAGE,
        )
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows({name: "" if value is None else value for name, value in row.items()} for row in rows)
    return text.getvalue()


def parameters_csv(answer: Answer) -> str:
    """Return every parameter of every curve, one a row."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(
        ["curve", "parameter", "value", "standard_error", "low", "high", "unit", "aic", "aicc", "delta", "n"]
    )
    for fit in answer["fits"]:
        for item in fit["parameters"]:
            writer.writerow(
                [
                    fit["curve"],
                    *(item[name] for name in ("name", "value", "standard_error", "low", "high", "unit")),
                    *(fit[name] for name in ("aic", "aicc", "delta", "n")),
                ]
            )
    return text.getvalue()


def _crop(known: Facts, crop: str | None) -> str | None:
    if crop is None:
        return None
    key = known.resolve_crop(crop)
    if key is None:
        raise OutpaceError(
            f"no crop called {crop!r}",
            where="`--crop`",
            allowed=f"one of {', '.join(item.english for item in known.crops.values())}",
            hint="leave it out where the figure holds on any crop",
            code=ExitCode.USAGE,
        )
    return key


def _grew(trial: Trial) -> Answer:
    degrees, rates = np.array(trial.x), np.array(trial.y)
    kinds = np.unique(degrees)
    if kinds.size < 2:
        raise OutpaceError(
            f"{kinds.size} temperature{'' if kinds.size == 1 else 's'}",
            where=trial.where,
            allowed="at least three are needed for a line, four for a bent curve",
            hint="add rows at other temperatures",
        )
    fits, refused = fit_curves(degrees, rates)
    if not fits:
        raise OutpaceError(
            f"no curve fits: {next(iter(refused.values()))}",
            where=trial.where,
            allowed="at least three rows at two temperatures, some of them with development",
            hint="add rows at other temperatures",
        )
    line, left = _line(degrees, rates)
    ranked = sorted(fits, key=_rank)
    best = ranked[0]
    cautions = _doubts(best, line, degrees, rates)
    if left:
        cautions.append(
            f"The line stands on temperatures up to {line['highest_degc'] if line else kinds[-1]:g} °C, where it was "
            "fastest: beyond, it is no line"
        )
    table = [
        {
            "temperature_degc": float(at),
            "rate_per_d": _digits(float(rates[degrees == at].mean())),
            "n": int((degrees == at).sum()),
            "fitted_per_d": _digits(float(best.rate(float(at)))),
            "line_per_d": None
            if line is None
            else _digits(max(0.0, (at - line["lower_threshold"]) / line["thermal_constant"])),
        }
        for at in kinds
    ]
    bent = next((fit for fit in fits if fit.curve == "thermal_performance"), None)
    own = _own_rows(line, bent, (float(kinds[0]), float(kinds[-1])))
    return {
        "sentence": _sentence(best, line, kinds),
        "domain": {"low": float(kinds[0]), "high": float(kinds[-1]), "unit": "degC"},
        "fits": [_told(fit, best) for fit in ranked],
        "not_fitted": [
            {"curve": curve, "title": TITLES[curve], "why": _why(curve, why, degrees.size, kinds.size)}
            for curve, why in refused.items()
        ],
        "line": line,
        "table": table,
        "own": own,
        "cautions": cautions,
    }


def _rank(fit: TemperatureFit) -> tuple[bool, float]:
    return (not math.isfinite(fit.aicc), fit.aicc if math.isfinite(fit.aicc) else fit.aic)


def _line(degrees: Any, rates: Any) -> tuple[Answer | None, int]:
    """Return the line through the rising part, and how many rows lie beyond it."""
    kinds = np.unique(degrees)
    means = np.array([rates[degrees == at].mean() for at in kinds])
    rising = (degrees <= kinds[int(np.argmax(means))]) & (rates > 0)
    left = int((degrees > kinds[int(np.argmax(means))]).sum())
    if np.unique(degrees[rising]).size < 2 or rising.sum() < 3:
        return None, left
    try:
        fit = fit_temperature_curve(degrees[rising], rates[rising], "linear")
    except ValueError:
        return None, left
    threshold, constant = fit.estimates
    correlation = fit.correlation[0][1]
    return {
        "lower_threshold": _digits(threshold.value),
        "lower_threshold_error": _finite(threshold.standard_error),
        "thermal_constant": _digits(constant.value),
        "thermal_constant_error": _finite(constant.standard_error),
        "correlation": round(correlation, 3) if math.isfinite(correlation) else None,
        "lowest_degc": fit.lowest,
        "highest_degc": fit.highest,
        "n": fit.n,
        "days_at_20_degc": _digits(constant.value / (20.0 - threshold.value))
        if threshold.value < 20.0
        else None,
    }, left


def _told(fit: TemperatureFit, best: TemperatureFit) -> Answer:
    return {
        "curve": fit.curve,
        "title": TITLES[fit.curve],
        "parameters": [
            {
                "name": each.name,
                "value": _digits(each.value),
                "standard_error": _finite(each.standard_error),
                "low": _finite(each.low),
                "high": _finite(each.high),
                "unit": SCALE_UNITS[fit.curve] if each.name == "scale" else UNITS[each.name],
                "told": _is_told(fit, each),
            }
            for each in fit.estimates
        ],
        "aic": _digits(fit.aic),
        "aicc": _finite(fit.aicc),
        "delta": _digits(fit.aicc - best.aicc)
        if math.isfinite(fit.aicc) and math.isfinite(best.aicc)
        else None,
        "residual_sd_per_d": _digits(math.sqrt(fit.residual_sum / max(fit.n - len(fit.estimates), 1))),
        "n": fit.n,
    }


def _is_told(fit: TemperatureFit, each: Estimate) -> bool:
    """Return whether the trial tells a parameter: its error is finite, no larger than itself, and no bound holds it."""
    return (
        each.name not in fit.on_bound
        and math.isfinite(each.standard_error)
        and each.standard_error <= max(abs(each.value), 1.0 if UNITS.get(each.name) == "degC" else 0.0)
    )


def _why(curve: str, why: str, rows: int, kinds: int) -> str:
    wanted = len(CURVES[curve].names)
    if "parameters" in why:
        return (
            f"{wanted} parameters: it needs {wanted + 1} rows at {wanted} temperatures or more; "
            f"here are {rows} at {kinds}"
        )
    return "no values of its parameters come near these rates"


def _sentence(best: TemperatureFit, line: Answer | None, kinds: Any) -> str:
    span = f"{kinds[0]:g} to {kinds[-1]:g} °C"
    if line is None:
        return f"Use the {TITLES[best.curve]} curve from {span}; there is no rising line in it."
    told = f"lower threshold {line['lower_threshold']:.3g} °C and thermal constant {line['thermal_constant']:.4g} °C d"
    if best.curve == "linear":
        return f"Use the straight line from {span}: {told}."
    return f"Use the {TITLES[best.curve]} curve from {span}; as a line, {told}."


def _doubts(best: TemperatureFit, line: Answer | None, degrees: Any, rates: Any) -> list[str]:
    said = []
    kinds = np.unique(degrees)
    means = np.array([rates[degrees == at].mean() for at in kinds])
    if not math.isfinite(best.aicc):
        said.append(
            "Too few rows for AICc with any curve that fits: the order is by plain AIC, which favours many parameters"
        )
    if int(np.argmax(means)) == kinds.size - 1:
        said.append(
            "It was still faster at the highest temperature: optimum and upper limit are not in these data"
        )
    elif kinds.size - 1 - int(np.argmax(means)) < 2:
        said.append("One temperature only lies beyond the fastest: the upper limit is a guess")
    untold = [each.name.replace("_", " ") for each in best.estimates if not _is_told(best, each)]
    if untold:
        said.append(
            f"These data do not tell {', '.join(untold)} of the {TITLES[best.curve]} curve: its interval is as wide as "
            "the value"
        )
    if line is not None and line["lower_threshold"] < 0:
        said.append("A lower threshold below 0 °C is an artefact of the line: nothing develops in frost")
    if line is not None and line["n"] == np.unique(degrees).size and line["n"] < 4:
        said.append("A line through three rows has one to spare: its interval is as wide as it says")
    if degrees.size == kinds.size:
        said.append("Rows are taken as means and count alike, whatever number of insects each stands for")
    return said


def _own_rows(line: Answer | None, bent: TemperatureFit | None, studied: tuple[float, float]) -> list[Answer]:
    """Return what may stand among own facts: the line as a pair, its domain, and optimum and upper if told."""
    rows: list[Answer] = []
    if line is not None and line["lower_threshold_error"] is not None and line["correlation"] is not None:
        rows += [
            {
                "quantity": name,
                "value": line[name],
                "sd": line[f"{name}_error"],
                "unit": UNITS[name],
            }
            for name in ("lower_threshold", "thermal_constant")
        ]
        rows.append(
            {
                "quantity": "threshold_constant_correlation",
                "value": line["correlation"],
                "sd": 0.0,
                "unit": "1",
            }
        )
        rows += [
            {"quantity": f"development_studied_{end}", "value": degrees, "sd": 0.0, "unit": "degC"}
            for end, degrees in zip(("from", "to"), studied, strict=True)
        ]
    if bent is not None and rows:
        rows += [
            {
                "quantity": OWN[each.name],
                "value": _digits(each.value),
                "sd": _digits(each.standard_error),
                "unit": UNITS[each.name],
            }
            for each in bent.estimates
            if each.name in ("optimum", "upper") and _is_told(bent, each)
        ]
    return rows


def _fed(trial: Trial, replaced: bool | None) -> Answer:
    lengths = sorted(set(trial.days))
    if len(lengths) > 1:
        raise OutpaceError(
            f"trials of {len(lengths)} lengths, {lengths[0]:g} to {lengths[-1]:g} days",
            where=trial.where,
            allowed="one length",
            hint="fit each length alone: `--only HEADING=VALUE`",
        )
    try:
        fits = [
            fit_functional_response(trial.x, trial.y, form, lengths[0] if lengths else 1.0)
            for form in ("depletion", "disc")
        ]
    except ValueError as error:
        raise OutpaceError(
            str(error),
            where=trial.where,
            allowed="three trials or more at two densities",
            hint="add densities",
        ) from error
    right = {True: "disc", False: "depletion"}.get(replaced) if replaced is not None else None
    fits.sort(key=lambda fit: (fit.form != right, fit.aic) if right else (False, fit.aic))
    chosen = fits[0] if right else next(fit for fit in fits if fit.form == "depletion")
    offered, eaten = np.array(trial.x), np.array(trial.y)
    handling, attack = chosen.handling_time, chosen.attack_rate
    told = math.isfinite(handling.standard_error) and handling.standard_error < handling.value
    cautions = []
    if right is None:
        cautions.append(
            "Not told whether eaten prey was put back (`--replaced`, `--not-replaced`): taken as not put back"
        )
    if not told:
        cautions.append(
            "The handling time is not told by these data: offer more prey, until no more is eaten"
        )
    shares = [float(eaten[offered == at].mean() / at) for at in np.unique(offered)]
    if len(shares) > 2 and int(np.argmax(shares)) > 0 and max(shares) > 1.5 * shares[0]:
        cautions.append(
            "The share eaten rises first: searching may grow with density (type III), which neither curve holds"
        )
    cautions.append("An attack rate holds for this arena; it does not carry over to a crop, and is not kept")
    return {
        "sentence": f"One takes at most {1.0 / handling.value:.3g} a day (handling time {handling.value:.3g} days), "
        f"and searches {attack.value:.3g} arenas a day.",
        "domain": {"low": float(offered.min()), "high": float(offered.max()), "unit": "prey per arena"},
        "fits": [_response(fit, fits) for fit in fits],
        "not_fitted": [],
        "line": None,
        "table": [
            {
                "offered": float(at),
                "eaten": _digits(float(eaten[offered == at].mean())),
                "n": int((offered == at).sum()),
            }
            for at in np.unique(offered)
        ],
        "own": [
            {
                "quantity": "handling_time",
                "value": _digits(handling.value),
                "sd": _digits(handling.standard_error),
                "unit": "d",
            }
        ]
        if told
        else [],
        "cautions": cautions,
    }


def _response(fit: FunctionalResponseFit, fits: Sequence[FunctionalResponseFit]) -> Answer:
    return {
        "curve": fit.form,
        "title": {"disc": "type II, prey put back (Holling)", "depletion": "type II, prey eaten up (Rogers)"}[
            fit.form
        ],
        "parameters": [
            {
                "name": each.name,
                "value": _digits(each.value),
                "standard_error": _finite(each.standard_error),
                "low": _finite(each.low),
                "high": _finite(each.high),
                "unit": unit,
                "told": math.isfinite(each.standard_error) and each.standard_error < each.value,
            }
            for each, unit in ((fit.attack_rate, "arena d-1"), (fit.handling_time, "d"))
        ],
        "aic": _digits(fit.aic),
        "aicc": _finite(fit.aic + 12.0 / (fit.n - 3)) if fit.n > 3 else None,
        "delta": _digits(fit.aic - min(other.aic for other in fits)),
        "residual_sd_per_d": None,
        "n": fit.n,
    }


def _how_to(own: Sequence[Answer], species: str | None, path: Path) -> str:
    if not own:
        return "Nothing of this can stand among your own facts."
    whom = "" if species else ' --species "NAME"'
    return (
        f"To let it stand before the books: `outpace facts fit {path}{whom} --own-facts own_facts.csv`, then "
        "`outpace book import own_facts.csv`."
    )


def _finite(value: float) -> float | None:
    return _digits(value) if math.isfinite(value) else None


def _digits(value: float) -> float:
    return float(f"{value:.5g}")
