"""What the walk's page says while it works: the script fills the braces, the words stand here with the others."""

from __future__ import annotations

from outpace.language import say, to_say

WORDS: tuple[tuple[str, str], ...] = (
    ("walk-of", to_say("Walk · {farm}")),
    ("one-line", to_say("Tell the whole house in one line of numbers.")),
    ("first-never", to_say("Walk {house} first: it was never looked at.")),
    ("first-old", to_say("Walk {house} first: last looked at {days} days ago.")),
    ("first-today", to_say("Every house was walked within a day: walk {house} again when you doubt it.")),
    ("no-house", to_say("No house to walk yet: add one, then come back.")),
    (
        "no-kit",
        to_say("This phone does not know the farm yet. Open this page once where it reaches the book."),
    ),
    ("never", to_say("never walked")),
    ("ago", to_say("last walk {days} d ago")),
    ("ago-today", to_say("walked today")),
    ("begin", "{house}"),
    ("go-on", to_say("Go on: {house}, {n} looked at")),
    ("in-a-line", to_say("in one line")),
    ("online", to_say("The book can be reached.")),
    ("offline", to_say("No signal: walks are kept on this phone and sent later.")),
    ("kit-of", to_say("Farm as known {when}.")),
    ("tally", to_say("{infested} of {n} with aphids")),
    ("unit-leaf", to_say("Leaf {n}: how many live aphids?")),
    ("unit-shoot", to_say("Shoot {n}: how many live aphids?")),
    ("unit-plant", to_say("Plant {n}: how many live aphids?")),
    ("clean", to_say("Nothing: no aphids, no mummies")),
    ("clean-aphids", to_say("No aphids")),
    ("next", to_say("Next")),
    ("next-clean", to_say("Nothing here, next")),
    ("over", to_say("over {low}")),
    ("pest-unknown", to_say("aphid, not named")),
    ("pest-other", to_say("another aphid …")),
    ("counter-tan-empty_smooth", to_say("Tan shells with a round, smooth hole")),
    ("counter-tan-empty_ragged", to_say("Tan shells with a ragged hole")),
    ("counter-black-closed", to_say("Black mummies, closed")),
    ("counter-black-empty_smooth", to_say("Black shells with a round, smooth hole")),
    ("counter-black-empty_ragged", to_say("Black shells with a ragged hole")),
    ("counter-winged", to_say("Winged aphids")),
    ("plus", to_say("{what}: one more")),
    ("minus", to_say("{what}: one fewer")),
    ("photos", to_say("{n} kept with this unit")),
    ("done", to_say("{house}: {n} looked at, {infested} with aphids, {mummies} mummies.")),
    ("done-line", to_say("{house}: {n} looked at, {infested} with aphids.")),
    ("state-open", to_say("not finished")),
    ("state-ready", to_say("kept on this phone, not sent yet")),
    ("state-sent", to_say("in the book")),
    ("state-conflict", to_say("the book holds this walk with other content")),
    ("state-refused", to_say("refused: {why}")),
    ("keep-book", to_say("Keep what the book holds")),
    ("keep-mine", to_say("Replace it by mine")),
    ("mend", to_say("Open it again")),
    ("remove", to_say("Remove from this phone")),
    ("sure-remove", to_say("Tap again to remove it for good")),
    ("both-kept", to_say("Both stay in the history of the book.")),
    ("more", to_say("{n} more, if they are clean.")),
    ("stop-few", to_say("You may stop: fewer than your level.")),
    ("stop-many", to_say("You may stop: more than your level.")),
    ("stop-enough", to_say("You may stop: more would tell little.")),
    ("too-many-infested", to_say("more with aphids than were looked at")),
    ("whole-number", to_say("whole numbers only")),
    ("fewer-aphids", to_say("fewer aphids than plants with aphids")),
    ("not-kept", to_say("This browser keeps nothing for pages. Write on paper, or use another browser.")),
    ("worker-on", to_say("This page opens without signal on this phone.")),
    (
        "worker-off",
        to_say("Keep this page open: without a trusted address it cannot be opened again without signal."),
    ),
    ("new-version", to_say("A newer page is here: reload when no walk is open.")),
)


def words() -> list[tuple[str, str]]:
    """Return what the page says while it works, in the language spoken now."""
    return [(key, say(text)) for key, text in WORDS]
