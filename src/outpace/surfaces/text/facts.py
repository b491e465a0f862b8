"""What is known of a species, each figure with its source, as text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from outpace.language import say
from outpace.measures import of_unit, temperature
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def _value(row: Answer) -> str:
    unit = page.unit_text(row.get("unit") or "")
    # Here a number stands as it stands in its table, whatever its size.
    kind = str(row.get("unit") or "")
    text = f"{of_unit(row['value'], kind):.6g} {unit}".strip()
    if row.get("low") is not None and row.get("high") is not None:
        spread = f", {row['spread']}" if row.get("spread") else ""
        text += say(
            " ({low:g} to {high:g}{spread})",
            low=of_unit(row["low"], kind),
            high=of_unit(row["high"], kind),
            spread=spread,
        )
    if row.get("temperature_degc") is not None:
        text += say(" at {warmth}", warmth=temperature(row["temperature_degc"]))
    return text


def _about(row: Answer) -> str:
    parts = [
        page.plain(row.get("stage") or ""),
        say("on {other_species}", other_species=page.name(row["other_species"]))
        if row.get("other_species")
        else "",
        page.name(row["crop"]) if row.get("crop") else "",
        say("strain {strain}", strain=row["strain"]) if row.get("strain") else "",
    ]
    told = ", ".join(part for part in parts if part)
    return f" ({told})" if told else ""


def row_lines(row: Answer) -> list[str]:
    """Return one figure: what, value, evidence, source, conditions."""
    source = " ".join(str(row[key]) for key in ("source", "locator") if row.get(key)) or say("no source")
    lines = page.fold(
        f"{str(row['quantity']).replace('_', ' ')}{_about(row)}: {_value(row)}; {row['evidence']}, {source}",
        first="  ",
        rest="    ",
    )
    for key in ("conditions", "note"):
        if row.get(key):
            lines += page.fold(row[key], first="      ")
    return lines


def _species_line(species: Answer) -> str:
    parts = [species.get("english"), species.get("eppo"), species.get("guild") or species.get("kind")]
    told = ", ".join(str(part) for part in parts if part)
    return f"{species.get('latin') or species.get('key')} ({told})" if told else str(species.get("latin"))


def step_lines(steps: Sequence[Answer]) -> list[str]:
    """Return the order in which the model goes through one day."""
    lines = page.heading(say("The order of one day in the model"))
    for number, step in enumerate(steps, 1):
        told = f"{step['when']}, {step['function']}: {step['meaning']}"
        lines += page.fold(told, first=f"  {number:>2}. ", rest="      ")
    return lines


def render(answer: Answer, *, only_order: bool = False) -> str:
    """Return the answer of ``outpace facts`` in lines of at most 80 columns."""
    if only_order:
        return "\n".join(step_lines(answer["step_order"])).lstrip("\n")
    lines: list[str] = []
    species = answer.get("species")
    if isinstance(species, Mapping):
        lines += page.fold(_species_line(species))
    for item in species if isinstance(species, list) else ():
        lines += page.fold(_species_line(item))
    group = ""
    for row in answer.get("rows", ()):
        if row["species"] != group:
            group = row["species"]
            lines += page.heading(page.name(group) if group else say("All species"))
        lines += row_lines(row)
    if answer.get("step_order"):
        lines += step_lines(answer["step_order"])
    if answer.get("sources"):
        lines += page.heading(say("Sources"))
        for source in answer["sources"]:
            doi = say(" doi:{doi}", doi=source["doi"]) if source.get("doi") else ""
            seen = say(" Seen: {seen}.", seen=source["seen"]) if source.get("seen") else ""
            lines += page.fold(
                f"{source['key']}: {source['authors']} ({source['year']}) {source['title']}. "
                f"{source['where']}.{doi}{seen}",
                first="  ",
                rest="    ",
            )
    return "\n".join(lines).lstrip("\n")
