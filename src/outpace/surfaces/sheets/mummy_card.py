"""What a mummy tells: colour, then hole, then what to do. Drawn for this card, black on white."""

from __future__ import annotations

from outpace.language import say
from outpace.surfaces.lens_drawings import live_aphid, mummy
from outpace.surfaces.sheets import paper


def render(*, head: str = "") -> bytes:
    """Return the card as PDF of one page."""
    blocks = [
        paper.title(say("Mummy and hole card"), say("10 to 15 times lens")),
        paper.line(
            say(
                "First the colour, then the hole. A live aphid moves its legs when touched; a mummy does not."
            ),
            bold=True,
        ),
        paper.pictures(
            [
                (
                    mummy("", dark=False),
                    say("A round pale shell with two short tubes and no hole"),
                    say("Tan, closed: a wasp grows in it"),
                ),
                (
                    mummy("", dark=False, hole="smooth"),
                    say("A round pale shell with a round hole of smooth edge"),
                    say("Tan, smooth round hole: the wasp you want has left"),
                ),
                (
                    mummy("", dark=False, hole="ragged"),
                    say("A round pale shell with a hole of torn edge"),
                    say("Tan, ragged hole: a wasp that lives on wasps may have left"),
                ),
            ]
        ),
        paper.pictures(
            [
                (
                    mummy("", dark=True),
                    say("A long dark shell without a hole"),
                    say("Black, closed: another kind of wasp grows in it"),
                ),
                (
                    mummy("", dark=True, hole="ragged"),
                    say("A long dark shell with a hole of torn edge"),
                    say("Black, ragged hole: means nothing, its own wasp leaves so"),
                ),
                (
                    live_aphid(""),
                    say("An aphid with legs, feelers and two tubes"),
                    say("Live aphid: count it, stung or not"),
                ),
            ]
        ),
        paper.table(
            (say("what you see"), say("what it means"), say("what to do")),
            (
                (
                    say("tan, closed"),
                    say("stung some time ago; the wasp is still inside"),
                    say("count it; leave it"),
                ),
                (
                    say("tan, smooth hole"),
                    say("a wasp flew: the next brood searches"),
                    say("count it as empty, smooth"),
                ),
                (
                    say("tan, ragged hole"),
                    say("maybe a hyperparasitoid; one says little"),
                    say("count smooth and ragged holes of twenty; tell your adviser when ragged ones grow"),
                ),
                (
                    say("black, any hole"),
                    say("a black-mummy wasp, whose own hole is ragged"),
                    say("count it as black; no alarm"),
                ),
                (
                    say("no mummies yet"),
                    say("too early, wrong aphid, a dead parcel or a residue"),
                    say("see the first day on the page of the house"),
                ),
            ),
            widths=(1, 2, 2),
        ),
        paper.line(
            say(
                "0 ragged among 20 tan holes: up to 17 of 100 may still be (exact 95 % interval). Nothing "
                "found is not nothing there."
            )
        ),
        paper.pen(say("For your pen: house, week, tan smooth / tan ragged / black"), 30),
    ]
    return paper.document(
        say("Mummy and hole card"),
        blocks,
        footer=say("A mummy on leaves for sale is a contaminant."),
        head=head,
        size=11,
    )
