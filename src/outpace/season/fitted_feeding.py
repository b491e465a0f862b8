"""A functional response fitted to prey offered and eaten, told with what the trial does and does not tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from outpace.biology.curve_fit import FunctionalResponseFit, fit_functional_response
from outpace.errors import OutpaceError
from outpace.intake.trial_table import Trial
from outpace.language import say
from outpace.season.fitted_curves import digits, finite

Answer = dict[str, Any]


def feeding_told(trial: Trial, replaced: bool | None) -> Answer:
    """Return what a feeding trial tells, its rows of own facts under ``own``."""
    lengths = sorted(set(trial.days))
    if len(lengths) > 1:
        raise OutpaceError(
            say(
                "trials of {lengths} lengths, {lengths2:g} to {lengths3:g} days",
                lengths=len(lengths),
                lengths2=lengths[0],
                lengths3=lengths[-1],
            ),
            where=trial.where,
            allowed=say("one length"),
            hint=say("fit each length alone: `--only HEADING=VALUE`"),
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
            allowed=say("three trials or more at two densities"),
            hint=say("add densities"),
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
            say(
                "Not told whether eaten prey was put back (`--replaced`, `--not-replaced`): taken as not "
                "put back"
            )
        )
    if not told:
        cautions.append(
            say("The handling time is not told by these data: offer more prey, until no more is eaten")
        )
    shares = [float(eaten[offered == at].mean() / at) for at in np.unique(offered)]
    if len(shares) > 2 and int(np.argmax(shares)) > 0 and max(shares) > 1.5 * shares[0]:
        cautions.append(
            say(
                "The share eaten rises first: searching may grow with density (type III), which neither "
                "curve holds"
            )
        )
    cautions.append(
        say("An attack rate holds for this arena; it does not carry over to a crop, and is not kept")
    )
    return {
        "sentence": say(
            "One takes at most {value:.3g} a day (handling time {value2:.3g} days), and searches "
            "{value3:.3g} arenas a day.",
            value=1.0 / handling.value,
            value2=handling.value,
            value3=attack.value,
        ),
        "domain": {"low": float(offered.min()), "high": float(offered.max()), "unit": "prey per arena"},
        "fits": [_response(fit, fits) for fit in fits],
        "not_fitted": [],
        "line": None,
        "table": [
            {
                "offered": float(at),
                "eaten": digits(float(eaten[offered == at].mean())),
                "n": int((offered == at).sum()),
            }
            for at in np.unique(offered)
        ],
        "own": [
            {
                "quantity": "handling_time",
                "value": digits(handling.value),
                "sd": digits(handling.standard_error),
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
        "title": {
            "disc": say("type II, prey put back (Holling)"),
            "depletion": say("type II, prey eaten up (Rogers)"),
        }[fit.form],
        "parameters": [
            {
                "name": each.name,
                "value": digits(each.value),
                "standard_error": finite(each.standard_error),
                "low": finite(each.low),
                "high": finite(each.high),
                "unit": unit,
                "told": math.isfinite(each.standard_error) and each.standard_error < each.value,
            }
            for each, unit in ((fit.attack_rate, "arena d-1"), (fit.handling_time, "d"))
        ],
        "aic": digits(fit.aic),
        "aicc": finite(fit.aic + 12.0 / (fit.n - 3)) if fit.n > 3 else None,
        "delta": digits(fit.aic - min(other.aic for other in fits)),
        "residual_sd_per_d": None,
        "n": fit.n,
    }
