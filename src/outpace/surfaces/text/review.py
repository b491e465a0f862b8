"""How past forecasts fared, as text."""

from __future__ import annotations

from collections.abc import Sequence

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

BAR = 30
"""Columns of the longest bar."""


def render(answer: Answer, *, cases: bool = False) -> str:
    """Return the answer of ``outpace review`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    which = "made anew, the future left out" if answer["mode"] == "replay" else "kept in the book"
    if answer["by_days_ahead"]:
        lines += page.heading(f"Forecasts {which}, against the walks that came later")
        lines += page.columns(_hits(answer["by_days_ahead"]), right=(1, 2, 3))
        lines += page.heading("Mean miss (CRPS of log(1+x)), against two forecasts that know no biology")
        lines += page.columns(_against(answer["by_days_ahead"]), right=(1,))
        lines += page.heading("Where the walks fell within the forecasts, in tenths; even is right")
        lines += tenths(answer["pit_tenths"])
    if cases and answer["cases"]:
        lines += page.heading("Each forecast with its walk, means per unit")
        lines += page.columns(_cases(answer["cases"]), right=(2,))
    lines += ["", *page.bullets(answer.get("cautions", ()))]
    return "\n".join(lines)


def _hits(rows: Sequence[Answer]) -> list[tuple[str, ...]]:
    told: list[tuple[str, ...]] = [
        ("about", "walks", "in the 90 % band", "in the 50 % band", "90 % band wide")
    ]
    for row in rows:
        told.append(
            (
                f"{row['days_ahead']} d ahead",
                page.figure(row["forecasts"]),
                _of(row["in_90"], row["forecasts"]),
                _of(row["in_50"], row["forecasts"]),
                f"{page.figure(row['width_times'])}-fold",
            )
        )
    return told


def _of(hits: int, all_: int) -> str:
    return f"{hits}, {page.chance(hits / all_)}"


def _against(rows: Sequence[Answer]) -> list[tuple[str, str, str]]:
    told = [("about", "outpace", "against")]
    for row in rows:
        others = []
        for naive in row["naive"]:
            if naive["crps_log"] is None:
                others.append(f"{naive['name']}: too few walks to compare")
            else:
                better = naive["below_it_log"]
                word = "below it" if better >= 0 else "above it"
                others.append(
                    f"{naive['name']} {page.figure(naive['crps_log'])}: {abs(100 * better):.0f} % {word}"
                )
        told.append((f"{row['days_ahead']} d ahead", page.figure(row["crps_log"]), "; ".join(others)))
    return told


def tenths(counts: Sequence[int]) -> list[str]:
    """Return a bar for each tenth of the forecasts: how many walks fell there.

    Examples
    --------
    >>> tenths([3, 0, 1, 1, 1, 1, 1, 1, 1, 0])[0]
    '   0 to  10 %    3  ##############################'
    """
    most = max(*counts, 1)
    return [
        f"  {10 * i:>2} to {10 * i + 10:>3} %  {n:>3}  {'#' * round(BAR * n / most)}".rstrip()
        for i, n in enumerate(counts)
    ]


def _cases(rows: Sequence[Answer]) -> list[tuple[str, ...]]:
    told: list[tuple[str, ...]] = [("house", "made, for", "seen", "foreseen (90 % band)")]
    for row in rows:
        dates = f"{page.day(row['made'])}, {page.day(row['for_date'])}"
        inside = "" if row["in_90"] else " missed"
        told.append((row["house"], dates, page.figure(row["seen"]), page.between(row) + inside))
    return told
