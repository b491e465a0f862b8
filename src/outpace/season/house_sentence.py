"""The one sentence of a house: one verb, one day, one number."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from outpace.language import say
from outpace.season.tasks import Task
from outpace.season.words import percent, weekday

Answer = dict[str, Any]


def sentence_of(answer: Answer, tasks: Sequence[Task]) -> str:
    """Return the one sentence of a house: one verb, one day, one number."""
    house = answer["house"]
    first = next((item for item in tasks if item["kind"] in ("order", "release", "squash", "keep out")), None)
    word = answer["verdict"]["word"]
    said = say(word) if word else ""
    walk = next((item for item in tasks if item["kind"] == "walk"), None)
    if word is None and walk is not None:
        return say(
            "{what} in {house} on {day}: {why}.",
            what=walk["what"],
            house=house,
            day=weekday(walk["day"]),
            why=walk["why"],
        )
    ends = answer["verdict"]["ends_well"]
    chance = say("{ends} chance to end well", ends=percent(ends)) if ends is not None else say("no forecast")
    if first is not None and first["kind"] in ("squash", "keep out"):
        return say(
            "{what}, in {house} on {day}: {word}, {chance}.",
            what=first["what"],
            house=house,
            day=weekday(first["day"]),
            word=said,
            chance=chance,
        )
    if first is not None:
        return say("{what}, on {day}.", what=first["what"], day=weekday(first["day"]))
    if word == "Losing":
        return say(
            "Plan and act in {house} on {as_of}: {word}, {chance}.",
            house=house,
            as_of=weekday(answer["as_of"]),
            word=said,
            chance=chance,
        )
    if walk is not None:
        return say(
            "{what} in {house} on {day}: {word}, {chance}.",
            what=walk["what"],
            house=house,
            day=weekday(walk["day"]),
            word=said,
            chance=chance,
        )
    next_walk = date.fromisoformat(answer["as_of"][:10]) + timedelta(days=7)
    return say(
        "Wait until {next_walk} in {house}: {word}, {chance}.",
        next_walk=weekday(str(next_walk)),
        house=house,
        word=said,
        chance=chance,
    )
