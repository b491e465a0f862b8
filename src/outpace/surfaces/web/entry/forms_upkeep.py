"""What else is asked: plants in, a walk in one line, cards, bankers, harvests, decisions, permits."""

from __future__ import annotations

from typing import Any

from outpace.language import say
from outpace.surfaces.web.entry.fields import Field, Form, choice
from outpace.surfaces.web.entry.shared_fields import (
    Known,
    enemy_choice,
    house_choice,
    minutes_field,
    these,
    when_field,
    yes_no,
    zone_field,
)


def plants(known: Known) -> Form:
    """Ask of plants that came in, and what their raiser sprayed."""
    return Form(
        "plants",
        say("Plants in"),
        say("What came in, from whom, and was it sprayed?"),
        say("Keep the plants"),
        (
            Field("crop", say("Crop"), near=tuple(known["crops"]), need=True),
            Field("number", say("How many"), "whole", option="--number"),
            Field("source", say("Who raised or sold them"), option="--source"),
            house_choice(known, need=False, value=""),
            choice(
                "sprays_told",
                say("Were they sprayed?"),
                [*yes_no(), ("unknown", say("the raiser does not know"))],
                option="--sprayed",
                note=say("ask: a residue on incoming plants kills what you release"),
            ),
            Field("sprays", say("With what, and when"), option="--sprays"),
            Field("looked_at", say("How many you looked at"), "whole", option="--looked-at"),
            Field("finds", say("What you found"), "long", option="--finds", note=say("“nothing”, if so")),
            Field(
                "batch", say("A name for them"), option="--batch", more=True, note=say("empty: one is made")
            ),
            when_field(known, label=say("They came")),
        ),
        _make_plants,
        onward=((say("More plants"), "/enter/plants"), (say("See plants in"), "/plants")),
        here="plants",
    )


def _make_plants(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.upkeep import plants_in

    values = these(told, "source", "number", "looked_at", "finds", "sprays_told", "sprays")
    return plants_in(snapshot, told["crop"], values, **these(told, "batch", "house", "on", "farm"))


def walk(known: Known) -> Form:
    """Ask for a walk told in one line."""
    return Form(
        "walk",
        say("Walk in one line"),
        say("How many plants did you look at, and what was on them?"),
        say("Keep the walk"),
        (
            house_choice(known),
            Field(
                "line",
                say("The walk in one line"),
                "text",
                need=True,
                note=say(
                    "such as: 20 looked at, 4 with greenfly, about 60, 3 mummies. Or: 20 looked at, none"
                ),
            ),
            choice(
                "unit",
                say("You looked at"),
                [("plant", say("whole plants")), ("leaf", say("leaves")), ("shoot", say("shoots"))],
                need=True,
                value="plant",
                option="--unit",
            ),
            choice(
                "chosen",
                say("They were taken"),
                [
                    ("random", say("as they came")),
                    ("fixed", say("the same as last time")),
                    ("hunted", say("where you expected aphids")),
                ],
                need=True,
                value="random",
                option="--chosen",
            ),
            Field("minutes", say("Minutes it took"), "number", option="--minutes"),
            Field("scout", say("Who walked"), option="--scout", more=True),
            when_field(known),
        ),
        _make_walk,
        onward=((say("Look at the house"), "/"), (say("Another walk"), "/enter/walk")),
        here="walk",
    )


def _make_walk(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.walk_line import walk_from_line

    return walk_from_line(
        snapshot, told["line"], **these(told, "house", "farm", "on", "unit", "chosen", "scout", "minutes")
    )


def card(known: Known) -> Form:
    """Ask of a sticky card."""
    return Form(
        "card",
        say("Sticky card"),
        say("How many winged aphids did the card catch, and since when does it hang?"),
        say("Keep the card"),
        (
            house_choice(known),
            Field("name", say("Card, by its name or number"), near=tuple(known["cards"]), need=True),
            Field(
                "winged",
                say("Winged aphids on it"),
                "whole",
                option="--winged",
                note=say("empty: not counted"),
            ),
            Field("hung", say("Hung on"), "day", option="--hung", note=say("once told, it is remembered")),
            choice("taken", say("Was it taken down?"), yes_no(), option="--taken"),
            zone_field(known),
            when_field(known),
        ),
        _make_card,
        changes=False,
        onward=((say("Another card"), "/enter/card"),),
    )


def _make_card(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.upkeep import card as from_words

    return from_words(
        snapshot,
        told["house"],
        told["name"],
        taken=told["taken"] == "yes",
        **these(told, "winged", "hung", "zone", "on", "farm"),
    )


def jar(known: Known) -> Form:
    """Ask of a jar of closed mummies from the crop: what was put in, or what came out."""
    return Form(
        "jar",
        say("Jar of mummies"),
        say("How many closed mummies did you put into a jar, or what came out of it?"),
        say("Keep the jar"),
        (
            house_choice(known),
            Field(
                "put_in",
                say("Closed mummies put in"),
                "whole",
                option="--put-in",
                note=say("on the day you take them"),
            ),
            Field(
                "wasps",
                say("Wasps that came out"),
                "whole",
                option="--wasps",
                note=say("later, when nothing more comes out"),
            ),
            Field(
                "hyperparasitoids",
                say("Hyperparasitoids that came out"),
                "whole",
                option="--hyperparasitoids",
            ),
            Field(
                "walked",
                say("Day of the walk on which you took them"),
                "day",
                option="--walked",
                more=True,
                note=say("empty: the last jar of which nothing came out yet, else the last walk"),
            ),
        ),
        _make_jar,
        onward=((say("Look at the house"), "/"), (say("Another jar"), "/enter/jar")),
    )


def _make_jar(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.crop_jar import crop_jar

    return crop_jar(
        snapshot, told["house"], **these(told, "put_in", "wasps", "hyperparasitoids", "walked", "farm")
    )


def banker(known: Known) -> Form:
    """Ask of banker plants that were set out."""
    return Form(
        "banker",
        say("Bankers set out"),
        say("How many banker plants did you set out, where and when?"),
        say("Keep the bankers"),
        (
            house_choice(known),
            Field("plants", say("Pots"), "whole", option="--plants", need=True),
            when_field(known, "set_out", "--set-out", say("Set out")),
            zone_field(known),
            Field("name", say("A name for them"), option="--name", more=True, note=say("empty: one is made")),
            minutes_field(),
            Field("note", say("What else to know"), "long", option="--note", more=True),
        ),
        _make_banker,
        care=(say("Bankers carry a cereal aphid that is a pest of cereals nearby."),),
        onward=((say("Take bankers out"), "/enter/withdraw"),),
    )


def _make_banker(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.bankers import add_banker

    return add_banker(
        snapshot,
        told["house"],
        told["plants"],
        **these(told, "set_out", "zone", "name", "note", "minutes", "farm"),
    )


def withdraw(known: Known) -> Form:
    """Ask which bankers were taken out."""
    return Form(
        "withdraw",
        say("Bankers taken out"),
        say("Which bankers did you take out, and when?"),
        say("Keep it"),
        (
            choice(
                "banker",
                say("Bankers"),
                [(row["banker"], row["said"]) for row in known["bankers"]],
                need=True,
            ),
            when_field(known),
        ),
        _make_withdraw,
        changes=True,
    )


def _make_withdraw(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.bankers import withdraw_banker

    return withdraw_banker(snapshot, told["banker"], **these(told, "on", "farm"))


def harvest(known: Known) -> Form:
    """Ask of a harvest, with the code that goes to the buyer."""
    return Form(
        "harvest",
        say("Harvest"),
        say("What was picked, where, and under which code?"),
        say("Keep the harvest"),
        (
            house_choice(known),
            Field("code", say("Code that goes to the buyer"), need=True),
            Field("amount", say("How much"), "number", option="--amount"),
            Field(
                "unit",
                say("Counted in"),
                option="--unit",
                near=("kg", say("crates"), say("heads"), say("bunches")),
            ),
            zone_field(known),
            when_field(known, label=say("Picked")),
        ),
        _make_harvest,
        onward=((say("See what stands behind it"), "/trace"), (say("Another harvest"), "/enter/harvest")),
    )


def _make_harvest(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.upkeep import harvest as from_words

    return from_words(
        snapshot, told["house"], told["code"], **these(told, "amount", "unit", "zone", "on", "farm")
    )


def decision(known: Known) -> Form:
    """Ask what was decided, and why."""
    return Form(
        "decision",
        say("Decision"),
        say("What did you decide for the house, and why?"),
        say("Keep the decision"),
        (
            house_choice(known),
            Field(
                "chosen", say("What was decided, in words"), need=True, note=say("to wait is a decision too")
            ),
            Field("reason", say("Because"), option="--because"),
            choice(
                "verdict",
                say("The page of the house said"),
                [("Holding", say("Holding")), ("Unclear", say("Unclear")), ("Losing", say("Losing"))],
                option="--verdict",
            ),
            Field("person", say("Who decided"), option="--person", more=True),
            when_field(known),
        ),
        _make_decision,
    )


def _make_decision(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.upkeep import decision as from_words

    return from_words(
        snapshot,
        told["house"],
        told["chosen"],
        person=told["person"] or told.get("by"),
        **these(told, "reason", "verdict", "on", "farm"),
    )


def permit(known: Known) -> Form:
    """Ask whether the permit or list entry of an enemy was seen."""
    return Form(
        "permit",
        say("Permit"),
        say("Did you see that the enemy may be released in your country?"),
        say("Keep the answer"),
        (
            enemy_choice(known, need=True),
            choice("seen", say("Permit or list entry seen?"), yes_no(), need=True, option="--seen"),
            Field("number", say("Its number"), option="--number"),
            Field(
                "country",
                say("Country, two letters"),
                option="--country",
                value=known.get("country", ""),
            ),
            when_field(known, label=say("Looked up")),
        ),
        _make_permit,
        changes=True,
        care=(
            say("Once per enemy and country, before the first order: living organisms may need a permit."),
        ),
        onward=((say("Another enemy"), "/enter/permit"), (say("See the plan"), "/plan")),
        here="settings",
    )


def _make_permit(snapshot: Any, told: dict[str, Any]) -> Any:
    from outpace.season.upkeep import permit as from_words

    return from_words(
        snapshot, told["enemy"], seen=told["seen"] == "yes", **these(told, "number", "country", "on", "farm")
    )
