"""What a plan and what else could be done leave of the crop, by the farm's own loss for each aphid above the level."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from outpace.language import say
from outpace.planning.candidate_house import Candidate
from outpace.planning.course import fate
from outpace.planning.places import releases_at
from outpace.planning.questions import Instead
from outpace.planning.release_plan import numbers_at
from outpace.season.farm_packs import Planned
from outpace.season.worth import Worth

Answer = dict[str, Any]
Array = NDArray[np.float64]

STANDARD_ERRORS = 2.0
"""Costs nearer than this many standard errors of their difference are told as no difference."""


def add_losses(
    rows: Sequence[Answer],
    asked: Sequence[Instead],
    item: Candidate,
    planned: Planned,
    worth: Worth,
    currency: str,
) -> str | None:
    """Add the expected loss of the crop to what else could be done in one house, where the farm told what one costs.

    ``rows`` tell what was ``asked``, in its order. All meet the first group of the members that judged
    the plan, with the same luck.

    Returns
    -------
    text : str or None
        What costs least with the crop that is lost, where that is not the plan and can be told from it.
    """
    if worth.loss is None:
        return None
    case, (first, part) = planned.found.case, item.judge.parts[0]
    levels = [level.value for level in case.levels]
    most = np.inf if worth.value is None else worth.value * case.model.area_m2
    of_row: dict[str, Array] = {}
    for row, one in zip(rows, asked, strict=True):
        numbers = numbers_at(item, planned.done.offers, one.counts)
        fared = fate(part, levels, releases=releases_at(part, item.judge.places, numbers, first))
        of_row[row["what"]] = np.minimum(worth.loss * case.model.area_m2 * fared.unit_days, most)
        row["loss"] = round(float(of_row[row["what"]].mean()), 2)
    plan = next((row for row in rows if row["key"] == "plan"), None)
    best = min(rows, key=lambda row: float(row["cost"] + row["loss"]), default=None)
    if plan is None or best is None or best is plan:
        return None
    apart = of_row[plan["what"]] - of_row[best["what"]]
    saved = plan["cost"] + plan["loss"] - best["cost"] - best["loss"]
    if saved <= STANDARD_ERRORS * float(apart.std()) / np.sqrt(apart.size):
        return None
    return say(
        "By your own prices it costs least in {house} to take this: {what}: {best:.2f} {currency} with the crop that "
        "is lost, the plan {plan:.2f}.",
        house=planned.name,
        what=best["what"],
        best=best["cost"] + best["loss"],
        plan=plan["cost"] + plan["loss"],
        currency=currency,
    )
