"""Curves of development fitted to rates at temperatures, told with what the trial does and does not tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from scipy.stats import t as student

from outpace.biology.curve_fit import Estimate, TemperatureFit, fit_curves, fit_temperature_curve
from outpace.biology.curve_shapes import CURVES
from outpace.errors import OutpaceError
from outpace.intake.trial_table import Trial
from outpace.language import listed, say, say_many, to_say
from outpace.measures import degrees, difference, temperature
from outpace.simulation.draws import NINE_TENTHS

Answer = dict[str, Any]

TITLES = {
    "linear": to_say("straight line"),
    "thermal_performance": to_say("line up, line down"),
    "briere1": to_say("Brière 1"),
    "briere2": to_say("Brière 2"),
    "lactin1": to_say("Lactin 1"),
    "lactin2": to_say("Lactin 2"),
    "logan6": to_say("Logan 6"),
    "gaussian": to_say("bell (Taylor)"),
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
FEWEST_OWN = 4
"""Rows of a line from which it may stand among own facts: fewer leave hardly any interval."""


def curves_told(trial: Trial) -> Answer:
    """Return what a trial of development tells, its rows of own facts under ``own``."""
    degrees, rates = np.array(trial.x), np.array(trial.y)
    kinds = np.unique(degrees)
    if kinds.size < 2:
        raise OutpaceError(
            say_many("{n} temperature", "{n} temperatures", kinds.size),
            where=trial.where,
            allowed=say("at least three are needed for a line, four for a bent curve"),
            hint=say("add rows at other temperatures"),
        )
    fits, refused = fit_curves(degrees, rates)
    if not fits:
        raise OutpaceError(
            say("no curve fits: {values}", values=next(iter(refused.values()))),
            where=trial.where,
            allowed=say("at least three rows at two temperatures, some of them with development"),
            hint=say("add rows at other temperatures"),
        )
    line, left = _line(degrees, rates)
    ranked = sorted(fits, key=_rank)
    best = ranked[0]
    cautions = _doubts(ranked, line, degrees, rates)
    if left:
        cautions.append(
            say(
                "The line stands on temperatures up to {highest}, where it was fastest: beyond, "
                "it is no line",
                highest=temperature(line["highest_degc"] if line else kinds[-1]),
            )
        )
    table = [
        {
            "temperature_degc": float(at),
            "rate_per_d": digits(float(rates[degrees == at].mean())),
            "n": int((degrees == at).sum()),
            "fitted_per_d": digits(float(best.rate(float(at)))),
            "line_per_d": None
            if line is None
            else digits(max(0.0, (at - line["lower_threshold"]) / line["thermal_constant"])),
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
            {"curve": curve, "title": say(TITLES[curve]), "why": _why(curve, why, degrees.size, kinds.size)}
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
        "lower_threshold": digits(threshold.value),
        "lower_threshold_error": finite(threshold.standard_error),
        "thermal_constant": digits(constant.value),
        "thermal_constant_error": finite(constant.standard_error),
        "correlation": round(correlation, 3) if math.isfinite(correlation) else None,
        "lowest_degc": fit.lowest,
        "highest_degc": fit.highest,
        "n": fit.n,
        "days_at_20_degc": digits(constant.value / (20.0 - threshold.value))
        if threshold.value < 20.0
        else None,
    }, left


def _told(fit: TemperatureFit, best: TemperatureFit) -> Answer:
    return {
        "curve": fit.curve,
        "title": say(TITLES[fit.curve]),
        "parameters": [
            {
                "name": each.name,
                "value": digits(each.value),
                "standard_error": finite(each.standard_error),
                "low": finite(each.low),
                "high": finite(each.high),
                "unit": SCALE_UNITS[fit.curve] if each.name == "scale" else UNITS[each.name],
                "told": _is_told(fit, each),
            }
            for each in fit.estimates
        ],
        "aic": digits(fit.aic),
        "aicc": finite(fit.aicc),
        "delta": digits(fit.aicc - best.aicc)
        if math.isfinite(fit.aicc) and math.isfinite(best.aicc)
        else None,
        "residual_sd_per_d": digits(math.sqrt(fit.residual_sum / max(fit.n - len(fit.estimates), 1))),
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
        return say(
            "{wanted} parameters: it needs {wanted2} rows at {wanted} temperatures or more; here are "
            "{rows} at {kinds}",
            wanted=wanted,
            wanted2=wanted + 1,
            rows=rows,
            kinds=kinds,
        )
    return say("no values of its parameters come near these rates")


def _sentence(best: TemperatureFit, line: Answer | None, kinds: Any) -> str:
    span = say("{low} to {high}", low=degrees(kinds[0]), high=temperature(kinds[-1]))
    if line is None:
        return say(
            "Use the {titles} curve from {span}; there is no rising line in it.",
            titles=say(TITLES[best.curve]),
            span=span,
        )
    told = say(
        "lower threshold {lower_threshold} and thermal constant {thermal_constant} d",
        lower_threshold=temperature(line["lower_threshold"]),
        thermal_constant=difference(line["thermal_constant"]),
    )
    if best.curve == "linear":
        return say("Use the straight line from {span}: {told}.", span=span, told=told)
    return say(
        "Use the {titles} curve from {span}; as a line, {told}.",
        titles=say(TITLES[best.curve]),
        span=span,
        told=told,
    )


def _doubts(ranked: Sequence[TemperatureFit], line: Answer | None, degrees: Any, rates: Any) -> list[str]:
    said = []
    best = ranked[0]
    kinds = np.unique(degrees)
    means = np.array([rates[degrees == at].mean() for at in kinds])
    if not math.isfinite(best.aicc):
        said.append(
            say(
                "Too few rows for AICc with any curve that fits: the order is by plain AIC, which favours "
                "many parameters"
            )
        )
    if int(np.argmax(means)) == kinds.size - 1:
        said.append(
            say(
                "It was still faster at the highest temperature: optimum and upper limit are not in these "
                "data"
            )
        )
    elif kinds.size - 1 - int(np.argmax(means)) < 2:
        said.append(say("One temperature only lies beyond the fastest: the upper limit is a guess"))
    if math.isfinite(best.aicc):
        near = [say(TITLES[fit.curve]) for fit in ranked[1:] if fit.aicc - best.aicc < CLOSE]
        if near:
            said.append(
                say(
                    "These data cannot tell {value} apart",
                    value=listed([say(TITLES[best.curve]), *near]),
                )
            )
    untold = [each.name.replace("_", " ") for each in best.estimates if not _is_told(best, each)]
    if untold:
        said.append(
            say(
                "These data do not tell {untold} of the {titles} curve: its interval is as wide as the value",
                untold=", ".join(untold),
                titles=say(TITLES[best.curve]),
            )
        )
    if line is not None and line["lower_threshold"] < 0:
        said.append(
            say(
                "A lower threshold below {frost} is an artefact of the line: nothing develops in frost",
                frost=temperature(0.0),
            )
        )
    if line is not None and line["n"] == np.unique(degrees).size and line["n"] < 4:
        said.append(say("A line through three rows has one to spare: its interval is as wide as it says"))
    if degrees.size == kinds.size:
        said.append(
            say("Rows are taken as means and count alike, whatever number of insects each stands for")
        )
    return said


def _own_rows(line: Answer | None, bent: TemperatureFit | None, studied: tuple[float, float]) -> list[Answer]:
    """Return what may stand among own facts: the line as a pair, its domain, and optimum and upper if told."""
    rows: list[Answer] = []
    if line is None or line["correlation"] is None or line["n"] < FEWEST_OWN:
        return rows
    if line["lower_threshold_error"] is not None:
        # Forecasts draw from a normal distribution: it is made as wide as the interval of so few rows.
        wide = float(student.ppf(0.95, line["n"] - 2)) / NINE_TENTHS
        rows += [
            {
                "quantity": name,
                "value": line[name],
                "sd": digits(wide * line[f"{name}_error"]),
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
                "value": digits(each.value),
                "sd": digits(each.standard_error),
                "unit": UNITS[each.name],
            }
            for each in bent.estimates
            if each.name in ("optimum", "upper") and _is_told(bent, each)
        ]
    return rows


def finite(value: float) -> float | None:
    """Return a number as it is told, or None where it has no end."""
    return digits(value) if math.isfinite(value) else None


def digits(value: float) -> float:
    """Return a number with the digits that it is told with."""
    return float(f"{value:.5g}")
