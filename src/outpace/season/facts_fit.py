"""Own or published trials fitted: development at temperatures, prey eaten at densities; what may be kept of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import Facts, load
from outpace.intake.trial_columns import TrialTold
from outpace.intake.trial_table import FEEDING, read_trial
from outpace.language import say
from outpace.season.fitted_curves import curves_told
from outpace.season.fitted_feeding import feeding_told

Answer = dict[str, Any]

WHOLE = ("all", "total", "whole", "egg to adult", "egg-adult", "birth to adult", "n1 to adult", "n1-adult")
"""What a column of stages calls the time that the facts hold."""


def told_of_trial(
    columns: Mapping[str, str],
    only: Mapping[str, str],
    *,
    temperature_unit: str | None = None,
    decimal: str | None = None,
    days: float | None = None,
) -> TrialTold:
    """Return what a person tells of a table, as the reader of trials takes it."""
    return TrialTold(
        columns=columns, only=only, temperature_unit=temperature_unit, decimal=decimal, days=days
    )


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
    made = feeding_told(trial, replaced) if trial.kind == FEEDING else curves_told(trial)
    if (part := _part_of_life(told)) is not None:
        made["own"] = []
        made["cautions"].append(
            say(
                "{part!r} is a part of the time to adult: the facts hold the whole of it, so none of this "
                "may stand there",
                part=part,
            )
        )
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
            say("nothing of this trial can stand among own facts"),
            where=f"`{answer['file']}`",
            allowed=say("a line over four rows or more of the whole time to adult, or a handling time"),
            hint=say("add temperatures to the trial"),
        )
    if rows[0]["species"] is None:
        raise OutpaceError(
            say("no species told"),
            where="`--own-facts`",
            allowed=say("a species of the facts"),
            hint=say('add `--species "Aphidius colemani"`'),
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


def _part_of_life(told: TrialTold) -> str | None:
    """Return the stage that was chosen, where it is not the whole time to adult."""
    chosen = {heading.strip().casefold(): value for heading, value in (told.only or {}).items()}
    stage = chosen.get("stage")
    return stage if stage is not None and stage.casefold() not in WHOLE else None


def _crop(known: Facts, crop: str | None) -> str | None:
    if crop is None:
        return None
    key = known.resolve_crop(crop)
    if key is None:
        raise OutpaceError(
            say("no crop called {crop!r}", crop=crop),
            where="`--crop`",
            allowed=say("one of {values}", values=", ".join(item.english for item in known.crops.values())),
            hint=say("leave it out where the figure holds on any crop"),
            code=ExitCode.USAGE,
        )
    return key


def _how_to(own: Sequence[Answer], species: str | None, path: Path) -> str:
    if not own:
        return say("Nothing of this can stand among your own facts.")
    whom = "" if species else say(' --species "NAME"')
    return say(
        "To let it stand before the books: `outpace facts fit {path}{whom} --own-facts own_facts.csv`, "
        "then `outpace book import own_facts.csv`.",
        path=path,
        whom=whom,
    )
