"""What a walk that found nothing proves, as text."""

from __future__ import annotations

from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def sentence(answer: Answer) -> str:
    """Return the one sentence: a verb, a day, a number."""
    if answer.get("sentence"):
        return str(answer["sentence"])
    until = answer.get("valid_until")
    more = answer.get("more_plants_to_halve")
    plants = f"{page.figure(more)} more plants halve the limit" if more else "look at as many plants again"
    return f"Walk again by {page.day(until)}: {plants}." if until else f"Walk today: {plants}."


def render(answer: Answer) -> str:
    """Return the answer of ``outpace nofinds`` in lines of at most 80 columns."""
    lines = page.fold(sentence(answer))
    looked, found = answer["looked_at"], answer["found"]
    seen = "none found" if not found else f"{page.figure(found)} found with aphids"
    title = f"{answer['house']}: " if answer.get("house") else ""
    lines += page.heading(f"{title}{page.figure(looked)} plants looked at, {seen}")
    detection = answer["detection"]
    percent = {key: 100 * detection[key] for key in ("mean", "low", "high") if detection.get(key) is not None}
    rows: list[tuple[str, str]] = []
    if answer.get("below_share") is not None:
        rows.append(
            (
                "infested share of plants",
                f"probably below {page.share(answer['below_share'])} "
                f"({page.chance(answer['confidence'])} sure)",
            )
        )
    else:
        rows.append(("infested share of plants", "this look cannot put a limit on it"))
    if answer.get("up_to_plants") is not None:
        house = f"of {page.figure(answer['plants_in_house'])} in the house"
        rows.append(("that is, in plants", f"up to {page.figure(answer['up_to_plants'])} {house}"))
    rows += [
        ("a plant counts as infested from", f"{page.figure(answer['design_density'])} live aphids"),
        (
            "one look finds",
            f"{page.between(percent, '%')} of infested plants, {detection.get('source') or 'no source'}",
        ),
    ]
    if answer.get("more_plants_to_halve"):
        rows.append(("plants more to halve the limit", page.figure(answer["more_plants_to_halve"])))
    if answer.get("valid_until"):
        rows.append(("holds until", page.day(answer["valid_until"], year=True)))
    lines += page.columns(rows)
    earlier = [walk for walk in answer.get("walks") or () if walk["times_grown_since"] > 1]
    for walk in earlier:
        lines += page.fold(
            f"{page.day(walk['date'])}: {page.figure(walk['plants'])} plants, weaker by now: aphids can have grown "
            f"{page.figure(walk['times_grown_since'])}-fold since, and about "
            f"{page.figure(walk['arrived_since'])} flown in",
            first="  ",
            rest="    ",
        )
    if answer.get("assumptions"):
        lines += page.heading("If this is true:")
        lines += page.bullets(answer["assumptions"])
    lines += ["", "Nothing found is not nothing there.", *page.bullets(answer.get("cautions", ()))]
    return "\n".join(lines)
