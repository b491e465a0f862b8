"""Where to let a lot go, as text."""

from __future__ import annotations

from outpace.language import say, say_many
from outpace.surfaces.text import page
from outpace.surfaces.text.page import Answer


def render(answer: Answer) -> str:
    """Return the answer of ``outpace points`` in lines of at most 80 columns."""
    lines = page.fold(answer["sentence"])
    lines += page.heading(
        say(
            "{number} {enemy} of lot {lot}, in the order of the walk ({metres} m)",
            number=page.figure(answer["number"]),
            enemy=page.name(answer["enemy"]),
            lot=answer["lot"],
            metres=page.figure(answer["walk_m"]),
        )
    )
    for point in answer["points"]:
        where = (
            say("at the {mark}", mark=point["mark"])
            if point["mark"]
            else say(
                "{along:.0f} m along, {across:.0f} m across", along=point["along_m"], across=point["across_m"]
            )
        )
        part = (
            ""
            if point["carrier"] is None
            else say("; {carrier:g} {unit} of carrier", carrier=point["carrier"], unit=answer["carrier_unit"])
        )
        lines += page.fold(
            say(
                "{no}. {zone}, {where}: {number} (by chance {low} to {high}){part}",
                no=point["no"],
                zone=point["zone"],
                where=where,
                number=point["number"],
                low=point["low"],
                high=point["high"],
                part=part,
            ),
            first="  ",
            rest="     ",
        )
    lines += page.heading(say("How far they get is disputed"))
    for view in answer["views"]:
        lines += page.fold(
            say_many(
                "{metres:g} m ({source}; {evidence}): {covered} of the floor in reach of these points; {n} point "
                "would reach all of it.",
                "{metres:g} m ({source}; {evidence}): {covered} of the floor in reach of these points; {n} points "
                "would reach all of it.",
                view["points_wanted"],
                metres=view["metres"],
                source=view["source"],
                evidence=view["evidence"],
                covered=page.share(view["covered_by_the_map"]),
            ),
            first="  - ",
            rest="    ",
        )
    few, many = answer["usual_points"]
    lines += page.fold(
        say("Rules of the trade come to {few} to {many} points.", few=few, many=many),
        first="  - ",
        rest="    ",
    )
    minds = [say("What came belongs in another house: `outpace arrival share`.")] if answer["held"] else []
    minds += [say("Shade, dry, out of the reach of ants; sticky cards near the points come down.")]
    if answer["too_few"]:
        minds.append(say("Fewer than {n:g} fall to a point: use fewer points.", n=answer["least_number"]))
    if answer["left_out"]:
        minds.append(say("No point of its own: {places}.", places="; ".join(answer["left_out"])))
    if not answer["sides_told"]:
        minds.append(say("Length and width of the house are not told: it is taken as a square."))
    lines += [*page.heading(say("Mind")), *page.bullets(minds)]
    lines += page.fold(
        say("The map and the labels: `outpace book print release-map` and `labels`."), first=""
    )
    return "\n".join(lines)
