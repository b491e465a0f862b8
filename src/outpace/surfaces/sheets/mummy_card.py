"""What a mummy tells: colour, then hole, then what to do. Drawn for this card, black on white."""

from __future__ import annotations

from outpace.surfaces.lens_drawings import live_aphid, mummy
from outpace.surfaces.sheets import paper


def render() -> bytes:
    """Return the card as PDF of one page."""
    blocks = [
        paper.title("Mummy and hole card", "10 to 15 times lens"),
        paper.line(
            "First the colour, then the hole. A live aphid moves its legs when touched; a mummy does not.",
            bold=True,
        ),
        paper.pictures(
            [
                (
                    mummy("", dark=False),
                    "A round pale shell with two short tubes and no hole",
                    "Tan, closed: a wasp grows in it",
                ),
                (
                    mummy("", dark=False, hole="smooth"),
                    "A round pale shell with a round hole of smooth edge",
                    "Tan, smooth round hole: the wasp you want has left",
                ),
                (
                    mummy("", dark=False, hole="ragged"),
                    "A round pale shell with a hole of torn edge",
                    "Tan, ragged hole: a wasp that lives on wasps may have left",
                ),
            ]
        ),
        paper.pictures(
            [
                (
                    mummy("", dark=True),
                    "A long dark shell without a hole",
                    "Black, closed: another kind of wasp grows in it",
                ),
                (
                    mummy("", dark=True, hole="ragged"),
                    "A long dark shell with a hole of torn edge",
                    "Black, ragged hole: means nothing, its own wasp leaves so",
                ),
                (
                    live_aphid(""),
                    "An aphid with legs, feelers and two tubes",
                    "Live aphid: count it, stung or not",
                ),
            ]
        ),
        paper.table(
            ("what you see", "what it means", "what to do"),
            (
                ("tan, closed", "stung some time ago; the wasp is still inside", "count it; leave it"),
                ("tan, smooth hole", "a wasp flew: the next brood searches", "count it as empty, smooth"),
                (
                    "tan, ragged hole",
                    "maybe a hyperparasitoid; one says little",
                    "count smooth and ragged holes of twenty; tell your adviser when ragged ones grow",
                ),
                (
                    "black, any hole",
                    "a black-mummy wasp, whose own hole is ragged",
                    "count it as black; no alarm",
                ),
                (
                    "no mummies yet",
                    "too early, wrong aphid, a dead parcel or a residue",
                    "see the first day on the page of the house",
                ),
            ),
            widths=(1, 2, 2),
        ),
        paper.line(
            "0 ragged among 20 tan holes: up to 17 of 100 may still be (exact 95 % interval). Nothing found is "
            "not nothing there."
        ),
        paper.pen("For your pen: house, week, tan smooth / tan ragged / black", 30),
    ]
    return paper.document(
        "Mummy and hole card", blocks, footer="A mummy on leaves for sale is a contaminant.", size=11
    )
