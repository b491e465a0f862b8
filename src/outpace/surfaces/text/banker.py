"""Banker plants as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the bankers of a farm in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    for row in answer["bankers"]:
        where = f"{row['house']}, zone {row['zone']}" if row["zone"] else row["house"]
        lines += page.heading(f"{row['banker']}: {row['plants']} pots in {where}")
        lines += page.fold(f"Set out {page.day(row['set_out'], year=True)}.", first="  ")
        fewest, most = row["wasps_per_day"]
        first, last = (
            " to ".join(page.day(day) for day in row[key]) for key in ("wasps_from", "wasps_until")
        )
        lines += page.fold(f"Wasps: {fewest} to {most} a day, from {first}, until {last}.", first="  ")
        if row["withdrawn_on"]:
            lines += page.fold(f"Taken out {page.day(row['withdrawn_on'], year=True)}.", first="  ")
        else:
            lines += page.fold(f"Renew by {page.day(row['renew_by'])}.", first="  ")
            lines += page.fold(
                f"Take out by {page.day(row['withdraw_by'], year=True)}, or at the first ragged holes.",
                first="  ",
            )
    lines += page.heading("How many: what others advise, pots per 1,000 m²")
    for row in answer["densities"]:
        low, high = row["low_per_1000_m2"], row["high_per_1000_m2"]
        number = f"{low:g}" if low == high else f"{low:g} to {high:g}"
        lines += page.fold(f"{number}: {row['case']} ({row['evidence']})", first="  ", rest="    ")
    lines += page.fold(f"Weakest evidence among these figures: {answer['evidence_weakest']}.")
    lines += page.bullets(answer["cautions"])
    return "\n".join(lines)
