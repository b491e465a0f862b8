"""Which aphid is it: a key by what a lens shows, with "unsure" at every step, and the card of mummies and holes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from markupsafe import Markup

from outpace.facts.lens_features import lens_rules
from outpace.facts.table import load
from outpace.language import say, spoken_language
from outpace.season.species_key import features, match_table, species_key, states_of
from outpace.surfaces import lens_drawings
from outpace.surfaces.text import page
from outpace.surfaces.web.pages import AskedBy, page_of

router = APIRouter(include_in_schema=False)


@router.get("/species-key")
async def species_key_page(request: Request, asked: AskedBy) -> Response:
    """Show the key, answered as far as the address answers it."""
    seen = {name: request.query_params.get(name, "") for name in features()}
    answer = species_key(seen)
    return page_of("species_key.html", asked, "facts", **view(answer))


def questions() -> dict[str, str]:
    """Return what is asked of each feature."""
    return {
        "brow": say("What stands between the feelers?"),
        "tubes": say("What colour are the two tubes at the hind end?"),
        "length": say("How long are the tubes?"),
        "back": say("What stands on the back?"),
        "feelers": say("How long are the feelers?"),
        "tail": say("What colour is the tail, between the tubes?"),
        "plant": say("What plant is it on?"),
        "shape": say("What size and shape is it?"),
        "colour": say("What colour is the body?"),
        "place": say("Where do they sit?"),
    }


def short_names() -> dict[str, str]:
    """Return each feature as a few words inside a sentence."""
    return {
        "brow": say("the brow between the feelers"),
        "tubes": say("the colour of the tubes"),
        "length": say("the length of the tubes"),
        "back": say("the back"),
        "feelers": say("the feelers"),
        "tail": say("the tail"),
        "plant": say("the plant it is on"),
        "shape": say("size and shape"),
        "colour": say("the colour of the body"),
        "place": say("where they sit"),
    }


def states() -> dict[tuple[str, str], str]:
    """Return what each state of a feature looks like."""
    return {
        ("brow", "inward"): say("two bumps that lean together, a notch between"),
        ("brow", "outward"): say("two bumps that lean apart"),
        ("brow", "straight"): say("two bumps that stand straight"),
        ("brow", "flat"): say("no bumps: flat or round"),
        ("tubes", "pale"): say("pale as the body"),
        ("tubes", "tip"): say("pale, with a dark tip"),
        ("tubes", "dark"): say("dark all along"),
        ("length", "long"): say("to the tip of the tail, or past it"),
        ("length", "short"): say("well short of the tip of the tail"),
        ("back", "plain"): say("nothing, or a faint mottle"),
        ("back", "green_feet"): say("a dark green patch at the foot of each tube"),
        ("back", "rust_feet"): say("a rusty patch about the tubes"),
        ("back", "stripe"): say("a darker stripe along the middle"),
        ("back", "wax"): say("white flecks on black"),
        ("feelers", "short"): say("shorter than the body"),
        ("feelers", "long"): say("as long as the body, or longer"),
        ("feelers", "ringed"): say("long, and dark at every joint"),
        ("tail", "pale"): say("pale"),
        ("tail", "dark"): say("dark"),
        ("plant", "crop"): say("on the crop, or a weed with broad leaves"),
        ("plant", "cereal"): say("on a cereal or grass, such as a banker plant"),
        ("shape", "small"): say("small and round"),
        ("shape", "large"): say("large and long, like a wedge or a pear"),
        ("colour", "green"): say("green"),
        ("colour", "pink"): say("pink or red"),
        ("colour", "yellow"): say("yellow"),
        ("colour", "dark"): say("dark green to near black"),
        ("colour", "black"): say("dull black"),
        ("place", "tips"): say("on tips and flowers"),
        ("place", "low"): say("on low leaves; they drop when touched"),
        ("place", "clumps"): say("in dense clumps under leaves"),
    }


def words() -> dict[str, str]:
    """Return the sentences that the page may say; the script on the page fills the same ones."""
    return {
        "start": say("Look at a wingless adult through the lens, and answer what you see."),
        "one": say("Count it as {name}: of the {all} aphids here only this one fits."),
        "more": say("{n} aphids still fit: look next at {what}."),
        "same": say("{n} aphids still fit: send a sample, or choose an enemy that suits all of them."),
        "none": say("Send a sample: none of the {all} aphids here fits all you saw."),
        "near": say("It would fit but for {what}."),
        "still": say("{n} of {all} still fit"),
    }


def common(species: str) -> str:
    """Return the common name of an aphid in the language spoken now."""
    known = load().species[species]
    return known.spanish if spoken_language() == "es" and known.spanish else known.english


def named(species: str) -> str:
    """Return the Latin and the common name of an aphid, plain."""
    return f"{load().species[species].latin} ({common(species)})"


def sentence(answer: Mapping[str, Any]) -> str:
    """Return what stands at the top: the name, or the next thing to look at."""
    told, fitting = answer["told"], [row["species"] for row in answer["species"] if row["fits"]]
    said, count = words(), len(answer["species"])
    if not told:
        return said["start"]
    if not fitting:
        return said["none"].format(all=count)
    if len(fitting) == 1:
        return said["one"].format(name=named(fitting[0]), all=count)
    if answer["look_next"]:
        return said["more"].format(n=len(fitting), what=short_names()[answer["look_next"]])
    return said["same"].format(n=len(fitting))


def view(answer: Mapping[str, Any]) -> dict[str, Any]:
    """Return the key for its page: questions with drawings, aphids with what speaks against each, enemies."""
    texts, asked, short = states(), questions(), short_names()
    matches = match_table()
    return {
        "sentence": sentence(answer),
        "steps": [
            {
                "name": name,
                "question": asked[name],
                "short": short[name],
                "told": answer["told"].get(name, ""),
                "states": [
                    {
                        "state": state,
                        "text": texts[name, state],
                        "drawing": Markup(lens_drawings.feature(name, state, texts[name, state])),
                    }
                    for state in found
                ],
            }
            for name, found in features().items()
        ],
        "unsure": Markup(lens_drawings.unsure(say("unsure"))),
        "aphids": [_aphid(row, answer, matches, short) for row in answer["species"]],
        "any_fits": any(row["fits"] for row in answer["species"]),
        "enemies": _enemies(answer),
        "words": words(),
        "rules": lens_rules(),
        "alcohol": page.share(lens_rules()["sample_alcohol"].value or 0.0),
        "rows": _rows(answer),
        "weakest": answer["evidence_weakest"],
        "card": card(),
        "holes": say("0 ragged among 20 tan holes: up to 17 of 100 may still be (exact 95 % interval)."),
    }


def _aphid(
    row: Mapping[str, Any],
    answer: Mapping[str, Any],
    matches: Mapping[str, Mapping[str, int]],
    short: Mapping[str, str],
) -> dict[str, Any]:
    species = row["species"]
    known = states_of(species)
    told = " ".join(
        f"{feature}:{state}={2 if fit == 'usual' else 1}"
        for feature, found in known.items()
        for state, fit in found.items()
    )
    near = len(row["against"]) == 1 and not any(each["fits"] for each in answer["species"])
    texts = states()
    looks = [texts[feature, state] for feature, found in known.items() for state in list(found)[:1]]
    return {
        "key": species,
        "number": list(matches).index(species),
        "named": named(species),
        "common": common(species),
        "shown": row["fits"] or near,
        "against": short[row["against"][0]] if near else "",
        "states": told,
        "matches": " ".join(f"{enemy}:{level}" for enemy, level in matches[species].items()),
        "looks": "; ".join(looks),
    }


def _enemies(answer: Mapping[str, Any]) -> list[dict[str, Any]]:
    level = {row["enemy"]: row["match"] for row in answer["enemies"]}
    enemies = [item for item in load().species.values() if item.kind == "enemy"]
    return [{"key": item.key, "match": level.get(item.key, 0)} for item in enemies]


def _rows(answer: Mapping[str, Any]) -> list[dict[str, str]]:
    texts = states()
    return [
        {
            "what": f"{named(row.species)}: {texts[row.feature, row.state]}",
            "evidence": row.evidence,
            "source": ", ".join(part for part in (row.source, row.locator) if part) or say("no source"),
        }
        for row in answer["rows"]
    ]


def card() -> list[dict[str, Any]]:
    """Return the card of mummies: what is seen, what it means, what to do."""
    drawings = lens_drawings
    return [
        {
            "drawing": Markup(drawings.mummy(say("Tan mummy without a hole"), dark=False)),
            "seen": say("Tan, round, closed"),
            "means": say("An aphid stung some time ago; the wasp is still inside."),
            "deed": say("Count it, and leave it on the plant."),
        },
        {
            "drawing": Markup(drawings.mummy(say("Tan mummy, smooth hole"), dark=False, hole="smooth")),
            "seen": say("Tan, a round hole with a smooth edge"),
            "means": say("The wasp you want has flown: the next brood searches."),
            "deed": say("Count it as empty, smooth."),
        },
        {
            "drawing": Markup(drawings.mummy(say("Tan mummy, ragged hole"), dark=False, hole="ragged")),
            "seen": say("Tan, a hole with a torn edge"),
            "means": say("A wasp that lives on wasps may have left; one such hole says little."),
            "deed": say("Look at 20 empty tan mummies, and tell your adviser when ragged ones grow."),
        },
        {
            "drawing": Markup(drawings.mummy(say("Black mummy without a hole"), dark=True)),
            "seen": say("Black, long, closed"),
            "means": say("Another kind of wasp grows in it."),
            "deed": say("Count it as black."),
        },
        {
            "drawing": Markup(drawings.mummy(say("Black mummy, ragged hole"), dark=True, hole="ragged")),
            "seen": say("Black, a hole with a torn edge"),
            "means": say("Nothing bad: its own wasp leaves so."),
            "deed": say("Count it as black, empty; no alarm."),
        },
        {
            "drawing": Markup(drawings.live_aphid(say("A live aphid"))),
            "seen": say("Legs that move when touched"),
            "means": say("A live aphid, stung or not."),
            "deed": say("Count it as live."),
        },
    ]
