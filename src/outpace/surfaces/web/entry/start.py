"""The first steps: what to tell next until a first forecast stands, and where everything else is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from outpace.errors import OutpaceError
from outpace.language import say
from outpace.surfaces.web.answers import Answers
from outpace.surfaces.web.asking import Asked
from outpace.surfaces.web.demo_page import answers_for
from outpace.surfaces.web.pages import AnswersOf, AskedBy, page_of
from outpace.surfaces.web.rendering import render
from outpace.surfaces.web.views import is_invented

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Step:
    """One of the first steps."""

    title: str
    why: str
    path: str
    button: str
    done: bool
    needed: bool = True


def steps_of(known: dict[str, Any]) -> list[Step]:
    """Return the first steps in their order, each with whether it is done."""
    return [
        Step(
            say("Your farm"),
            say("Where it lies sets day length and season; it is sent nowhere."),
            "/enter/farm",
            say("Tell of the farm"),
            bool(known["farms"]),
        ),
        Step(
            say("A house"),
            say("Crop, ground, rows and spacing; what costs you money sets your first action level."),
            "/enter/house",
            say("Tell of a house"),
            bool(known["houses"]),
        ),
        Step(
            say("Its temperatures"),
            say("A logger's file, or a thermometer's day. Without, those of place and season are assumed."),
            "/climate",
            say("Bring temperatures"),
            bool(known.get("has_climate")),
            needed=False,
        ),
        Step(
            say("A first walk"),
            say("Twenty plants as they come; finding nothing counts too. Then the forecast stands."),
            "/enter/walk",
            say("Tell a walk in one line"),
            bool(known.get("has_walks")),
        ),
        Step(
            say("What you can buy"),
            say("Packs, prices and the day to order by; the plan is made of them."),
            "/enter/pack",
            say("Tell of a pack"),
            bool(known.get("has_packs")),
            needed=False,
        ),
    ]


def next_step(steps: list[Step]) -> Step | None:
    """Return the first step that has to be taken and is not; None where a forecast stands."""
    return next((step for step in steps if step.needed and not step.done), None)


async def known_of(answers: Answers, asked: Asked) -> dict[str, Any]:
    """Return what the book knows for the first steps; nothing, where it cannot be read."""
    try:
        return await answers.choices(asked)
    except OutpaceError:
        return {"farms": [], "houses": [], "farm": None}


async def start_page(request: Request, error: OutpaceError | None = None) -> Response:
    """Show the first steps in place of a page that has nothing to show yet."""
    kept = {key: request.query_params.get(key) for key in ("farm", "as_of")}
    known = await known_of(answers_for(request), Asked(farm=kept["farm"]))
    steps = steps_of(known)
    body = render("start.html", kept=kept, here="week", error=error, steps=steps, next=next_step(steps))
    return HTMLResponse(body)


@router.get("/start")
async def first_steps(request: Request) -> Response:
    """Show the first steps and which of them are done."""
    return await start_page(request)


@router.get("/more")
async def more(asked: AskedBy, answers: AnswersOf) -> Response:
    """Show where everything else is."""
    known = await known_of(answers, asked)
    doors = (
        (say("First steps"), say("What to tell next until a first forecast stands"), "/start"),
        (say("Plants in"), say("What came in, from whom, and what was sprayed on it"), "/plants"),
        (say("Which enemy"), say("What fits a house now, what does not, and why"), "/enemies"),
        (
            say("When to stop"),
            say("Signs to stop releasing; dated lists for both edges of a season"),
            "/edges",
        ),
        (say("On order"), say("What is fixed, what can be changed until when; standing orders"), "/standing"),
        (say("Release points"), say("Where a lot goes in a house: points, map, labels"), "/points"),
        (say("A late parcel"), say("Which house gets a late, hot or short parcel now"), "/share"),
        (say("Banker plants"), say("Whether they serve, how many by each density, when"), "/bankers"),
        (say("Lag"), say("When a release shows its first mummies"), "/lag"),
        (say("Trace"), say("What stands behind a harvest, and where a lot went"), "/trace"),
        (say("Review"), say("How past forecasts fared"), "/review"),
        (say("Money"), say("What enemies cost, and from how many aphids acting pays"), "/money"),
        (say("Facts"), say("What is known of each species, each figure with its source"), "/facts"),
        (say("Settings"), say("Farm, houses, packs on offer, permits"), "/settings"),
        (say("Language and numbers"), say("How these pages speak in this browser"), "/language"),
    )
    return page_of("more.html", asked, "more", doors=doors, invented=is_invented(known["farm"]))
