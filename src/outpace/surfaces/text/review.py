"""How past forecasts fared, as text."""

from __future__ import annotations

from collections.abc import Sequence

from outpace.language import say
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer

BAR = 30
"""Columns of the longest bar."""


def render(answer: Answer, *, cases: bool = False) -> str:
    """Return the answer of ``outpace review`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    which = say("made anew, the future left out") if answer["mode"] == "replay" else say("kept in the book")
    if answer["by_days_ahead"]:
        lines += page.heading(say("Forecasts {which}, against the walks that came later", which=which))
        lines += page.columns(_hits(answer["by_days_ahead"]), right=(1, 2, 3))
        lines += page.heading(say("Mean miss (CRPS of log(1+x)), against two forecasts that know no biology"))
        lines += page.columns(_against(answer["by_days_ahead"]), right=(1,))
        lines += page.heading(say("Where the walks fell within the forecasts, in tenths; even is right"))
        lines += tenths(answer["pit_tenths"])
    if cases and answer["cases"]:
        lines += page.heading(say("Each forecast with its walk, means per unit"))
        lines += page.columns(_cases(answer["cases"]), right=(2,))
    lines += ["", *page.bullets(answer.get("cautions", ()))]
    return "\n".join(lines)


def _hits(rows: Sequence[Answer]) -> list[tuple[str, ...]]:
    told: list[tuple[str, ...]] = [
        ("about", "walks", say("in the 90 % band"), say("in the 50 % band"), say("90 % band wide"))
    ]
    for row in rows:
        told.append(
            (
                say("{days_ahead} d ahead", days_ahead=row["days_ahead"]),
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
                others.append(say("{name}: too few walks to compare", name=naive["name"]))
            else:
                better = naive["below_it_log"]
                word = say("below it") if better >= 0 else say("above it")
                others.append(
                    f"{naive['name']} {page.figure(naive['crps_log'])}: {abs(100 * better):.0f} % {word}"
                )
        told.append(
            (
                say("{days_ahead} d ahead", days_ahead=row["days_ahead"]),
                page.figure(row["crps_log"]),
                "; ".join(others),
            )
        )
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
        say(
            "  {i:>2} to {i2:>3} %  {n:>3}  {bar}",
            i=10 * i,
            i2=10 * i + 10,
            n=n,
            bar="#" * round(BAR * n / most),
        ).rstrip()
        for i, n in enumerate(counts)
    ]


def _cases(rows: Sequence[Answer]) -> list[tuple[str, ...]]:
    told: list[tuple[str, ...]] = [("house", say("made, for"), "seen", say("foreseen (90 % band)"))]
    for row in rows:
        dates = f"{page.day(row['made'])}, {page.day(row['for_date'])}"
        inside = "" if row["in_90"] else say(" missed")
        told.append((row["house"], dates, page.figure(row["seen"]), page.between(row) + inside))
    return told
