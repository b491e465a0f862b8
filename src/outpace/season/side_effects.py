"""What a spray that was entered does to enemies, in words: its classes and what each means."""

from __future__ import annotations

from outpace.estimation.efficacy import (
    FIELD,
    LABORATORY,
    PERSISTENCE,
    SideEffectClass,
    persistence_class,
    side_effect_class,
)
from outpace.facts.table import Fact, Facts
from outpace.language import say
from outpace.season.sprayed import Sprayed
from outpace.season.words import percent


def side_effects(item: Sprayed, facts: Facts) -> tuple[list[str], list[Fact]]:
    """Return the classes of the entered figures as sentences, each with its scale and the ends of the class."""
    row = item.row
    sentences: list[str] = []
    used: list[Fact] = []
    for words, loss in (
        (say("direct loss"), row.kill_enemy_share),
        (say("loss by residue"), row.residual_enemy_share),
    ):
        if loss is None:
            continue
        found = [side_effect_class(facts, loss, scale) for scale in (LABORATORY, FIELD)]
        used += [fact for each in found for fact in each.facts]
        sentences.append(
            say(
                "A {words} of {loss} is class {word} by the limits for the laboratory ({found}) and class "
                "{word2} by those for the field ({found2}); both are IOBC scales, and which one your "
                "figure is of stands beside it where you read it.",
                words=words,
                loss=percent(loss),
                word=found[0].word,
                found=_range(found[0]),
                word2=found[1].word,
                found2=_range(found[1]),
            )
        )
    if row.residual_d is not None:
        lasting = persistence_class(facts, row.residual_d)
        used += lasting.facts
        sentences.append(
            say(
                "Harm for {residual_d:g} d is class {word} of persistence ({lasting}; IOBC).",
                residual_d=row.residual_d,
                word=lasting.word,
                lasting=_range(lasting),
            )
        )
    return sentences, used


def _range(found: SideEffectClass) -> str:
    """Return the ends of a class; the lower one belongs to class 2 or B, and to no class above it."""
    scale, unit = (1.0, "d") if found.scale == PERSISTENCE else (100.0, "%")
    low = f"{scale * found.low:g}"
    if found.high is None:
        return say("over {low} {unit}", low=low, unit=unit)
    high = f"{scale * found.high:g} {unit}"
    if found.low == 0:
        return say("under {high}", high=high)
    return (
        say("{low} to {high}", low=low, high=high)
        if found.word in ("2", "B")
        else say("over {low} to {high}", low=low, high=high)
    )
