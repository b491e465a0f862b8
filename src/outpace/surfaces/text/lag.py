"""How long a release takes to show, as text."""

from __future__ import annotations

from outpace.language import say
from outpace.measures import degrees
from outpace.measures import temperature as warmth
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def _when(point: Answer) -> str:
    return say("{date} (day {days})", date=page.day(point["date"]), days=page.figure(point["days"]))


def _temperature(temperature: Answer) -> str:
    mean, low, high = (temperature[key] for key in ("mean_degc", "low", "high"))
    swing = (
        say("all day")
        if low == high
        else say(
            "in the mean, {low} by night, {high} by day", low=degrees(low, None), high=degrees(high, None)
        )
    )
    return f"{warmth(mean, None)} {swing}; {temperature['source']}"


def render(answer: Answer, *, sources: bool = False) -> str:
    """Return the answer of ``outpace lag`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    match = answer["host_match"]
    temperature = answer["temperature"]
    source = match.get("source") or say("no source")
    lines += page.heading(
        say(
            "{latin} released as {form} on {release} against {latin2}",
            latin=answer["enemy"]["latin"],
            form=say(answer["form"]),
            release=page.day(answer["release"], year=True),
            latin2=answer["pest"]["latin"],
        )
    )
    lines += page.columns(
        [
            (say("does it accept this aphid"), f"{match['words']} ({source})"),
            (say("temperature in the crop"), _temperature(temperature)),
        ]
    )
    mummies = answer.get("first_mummies")
    if mummies:
        lines += page.heading(say("When it shows"))
        rows = [
            (
                say("first mummies"),
                say(
                    "{likely}; earliest {earliest}, latest {latest}",
                    likely=_when(mummies["likely"]),
                    earliest=_when(mummies["earliest"]),
                    latest=_when(mummies["latest"]),
                ),
            ),
        ]
        if answer.get("first_look"):
            rows.append((say("first look worth taking"), _when(answer["first_look"])))
        if answer.get("absence_means_something"):
            rows.append(
                (say("no mummies means little before"), _when(answer["absence_means_something"])),
            )
        if answer.get("next_brood"):
            brood = answer["next_brood"]
            rows.append(
                (
                    say("next brood flies"),
                    say(
                        "{q50}; {q05} to {q95}",
                        q50=_when(brood["q50"]),
                        q05=_when(brood["q05"]),
                        q95=_when(brood["q95"]),
                    ),
                )
            )
        lines += page.columns(rows)
    if answer.get("aphid_doubling_d"):
        lines += page.heading(say("What the aphid does meanwhile, if nothing stops it"))
        rows = [(say("doubles every"), page.between(answer["aphid_doubling_d"], say("days")))]
        if answer.get("doublings_until_next_brood"):
            rows.append(
                (say("doublings until the next brood"), page.between(answer["doublings_until_next_brood"]))
            )
        if answer.get("times_until_next_brood"):
            rows.append((say("times as many by then"), page.between(answer["times_until_next_brood"])))
        lines += page.columns(rows)
    lines += [""]
    lines += page.bullets(answer.get("cautions", ()))
    lines += [say("  Intervals hold nine cases in ten.")]
    if sources:
        lines += page.fact_lines(answer.get("facts", ()))
    lines += ["", *page.evidence_line(answer.get("evidence_weakest"))]
    if not sources:
        lines += page.fact_count(answer.get("facts", ()))
    return "\n".join(lines)
