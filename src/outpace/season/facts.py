"""What is known and from where: the answer of ``outpace facts`` and the page made from it.

``python -m outpace.season.facts docs/facts.md`` writes the page anew.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from outpace.facts.record_rules import CHECK, record_rules
from outpace.facts.table import BankerDensity, Fact, Facts, OtherRate, ReleaseRate, ReleaseRhythm, load
from outpace.language import say, to_say
from outpace.simulation.step_order import STEP_ORDER

Answer = dict[str, Any]

GROUPS = {
    "any_aphid": to_say("Any aphid of the table"),
    "any_wasp": to_say("Any wasp"),
    "any_predator": to_say("Any predator"),
    "any_enemy": to_say("Any enemy"),
    "any_hyperparasitoid": to_say("Any hyperparasitoid"),
    "": to_say("Crops, counts and climate"),
}
"""Rows that stand in where a species has none of its own."""

EVIDENCE_MEANS = {
    "read": to_say("the text was read, often only its abstract"),
    "derived": to_say("computed or smoothed from figures that were read"),
    "recalled": to_say("from memory of a named publication, not read again"),
    "seller": to_say("from an interested party"),
    "practice": to_say("common practice or judgement, no source"),
    "own": to_say("this grower's own counts"),
}


def facts_answer(
    species: str | None = None, cite: bool = False, *, step_order: bool = False, facts: Facts | None = None
) -> Answer:
    """Return what is known about one species, or about all, as ``outpace.facts/1``.

    Parameters
    ----------
    species : str, optional
        Any name of a pest, enemy or hyperparasitoid. Rows of its group stand below its own.
    cite : bool
        Whether the sources that the rows name are told in full.
    step_order : bool
        Whether the order in which the model goes through one day is told.

    Raises
    ------
    OutpaceError
        If no species has the name.
    """
    known = facts or load()
    if species is None:
        told: Any = [_species(known, key) for key in known.species]
        rows = known.rows()
    else:
        key = known.resolve(species)
        told = _species(known, key)
        rows = tuple(row for each in (key, *known.species[key].groups) for row in known.rows(each)) + tuple(
            row for row in known.rows() if row.other_species == key and row.species != key
        )
    named = {row.source for row in rows if row.source}
    return {
        "schema": "outpace.facts/1",
        "species": told,
        "rows": [asdict(row) for row in rows],
        "sources": [asdict(known.sources[key]) for key in sorted(named)] if cite else [],
        "step_order": [
            {"when": moment.when, "meaning": moment.meaning, "function": moment.function}
            for moment in STEP_ORDER
            if step_order
        ],
    }


def facts_markdown(facts: Facts | None = None) -> str:
    """Return the page of all facts: one table a species, then groups, trade figures and sources."""
    known = facts or load()
    lines = [
        "# Facts",
        "",
        say(
            "Made from the tables in `src/outpace/facts/`; do not edit. One number stands in one row. A "
            "species without a row of its own takes that of its group. Rows of one named study are for "
            "comparison, never a default."
        ),
        "",
        say(
            "Development speeds up in a straight line from the lower threshold to the optimum and falls "
            "from there to nil at the upper temperature (`thermal_performance`, the choice for every "
            "species so far). Other curves stand as rows of their study."
        ),
        "",
        say("| evidence | means |"),
        "|---|---|",
        *(f"| {name} | {means} |" for name, means in EVIDENCE_MEANS.items()),
        "",
    ]
    for key, species in known.species.items():
        latin = f"*{species.latin}*" if species.latin else ""
        code = (
            say(
                ", EPPO code {eppo} ({eppo_evidence})", eppo=species.eppo, eppo_evidence=species.eppo_evidence
            )
            if species.eppo
            else ""
        )
        lines += [f"## {species.english[0].upper()}{species.english[1:]}", ""]
        lines += [f"{latin}{', ' if latin else ''}{species.kind}{code}.", ""]
        lines += _table(known.rows(key))
    for group, title in GROUPS.items():
        lines += [f"## {title}", "", *_table(known.rows(group))]
    lines += _trade(known)
    lines += _rules()
    lines += ["## What the quantities mean", "", say("| quantity | unit | meaning |"), "|---|---|---|"]
    lines += [f"| {q.quantity} | {q.unit} | {_cell(q.meaning)} |" for q in known.quantities.values()]
    lines += ["", "## Sources", "", say("| key | authors | year | title | where | DOI | seen |")]
    lines += ["|---|---|---|---|---|---|---|"]
    lines += [
        "| " + " | ".join(_cell(str(value)) for value in asdict(source).values()) + " |"
        for source in known.sources.values()
    ]
    return "\n".join(lines) + "\n"


def _rules() -> list[str]:
    lines = [
        "## Records that are asked for",
        "",
        say("No advice: {check}. Empty means not noted.", check=say(CHECK)),
        "",
    ]
    lines += [
        say("| region | records | fields | keep, years | since | by | rule | source | evidence | note |")
    ]
    lines += ["|---|---|---|---|---|---|---|---|---|---|"]
    for rule in record_rules():
        cells = (
            rule.region,
            rule.record,
            ", ".join(rule.fields),
            "" if rule.keep_y is None else f"{rule.keep_y:g}",
            rule.since,
            "law" if rule.is_law else "audit schemes",
            rule.driver,
            ", ".join(part for part in (rule.source, rule.locator) if part),
            rule.evidence,
            rule.note,
        )
        lines.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
    return [*lines, ""]


def _species(known: Facts, key: str) -> Answer:
    item = known.species[key]
    return {
        "key": item.key,
        "latin": item.latin,
        "english": item.english,
        "spanish": item.spanish,
        "eppo": item.eppo,
        "kind": item.kind,
        "guild": item.guild,
        "mummy_colour": item.mummy_colour,
        "forms": list(item.forms),
        "reference_crop": item.reference_crop,
        "size": item.size,
        "response_curve": item.response_curve,
    }


def _table(rows: Sequence[Fact]) -> list[str]:
    if not rows:
        return [say("No row of its own."), ""]
    lines = [say("| quantity | for | at °C | value | range | unit | source | evidence | note |")]
    lines += ["|---|---|---|---|---|---|---|---|---|"]
    for row in sorted(rows, key=lambda row: (bool(row.strain), row.quantity)):
        about = ", ".join(
            part.replace("_", " ")
            for part in (
                row.stage,
                row.other_species and say("on {other_species}", other_species=row.other_species),
                row.crop,
                row.strain,
            )
            if part
        )
        span = (
            say("{low:g} to {high:g}", low=row.low, high=row.high)
            if row.low is not None and row.high is not None
            else ""
        )
        degc = f"{row.temperature_degc:g}" if row.temperature_degc is not None else ""
        cells = (
            row.quantity,
            about,
            degc,
            f"{row.value:g}",
            span,
            row.unit,
            ", ".join(part for part in (row.source, row.locator) if part),
            row.evidence,
            row.note,
        )
        lines.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
    return [*lines, ""]


def _trade(known: Facts) -> list[str]:
    lines = ["## Release rates", ""]
    lines += [
        say("Per m² of floor and release. They differ twenty-fold for one wasp: no single one is right."),
        "",
    ]
    lines += _plain(known.release_rates)
    lines += ["## Release rates of enemies that no plan is made with", "", *_plain(known.other_rates)]
    lines += ["## Release rhythm by rule of thumb", "", *_plain(known.release_rhythms)]
    lines += ["## Banker plants", "", *_plain(known.bankers)]
    return lines


def _plain(rows: Iterable[ReleaseRate | OtherRate | ReleaseRhythm | BankerDensity]) -> list[str]:
    told = [asdict(row) for row in rows]
    lines = ["| " + " | ".join(name.replace("_", " ") for name in told[0]) + " |"]
    lines += ["|" + "---|" * len(told[0])]
    for row in told:
        cells = [
            "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
            for value in row.values()
        ]
        lines.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
    return [*lines, ""]


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("degC", "°C")


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(facts_markdown(), encoding="utf-8")
