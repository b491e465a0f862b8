"""Every form there is, in the order in which a season meets them."""

from __future__ import annotations

from collections.abc import Callable

from outpace.errors import ExitCode, OutpaceError
from outpace.language import say
from outpace.surfaces.web.entry import (
    forms_house,
    forms_orders,
    forms_parcels,
    forms_place,
    forms_spray,
    forms_standing,
    forms_upkeep,
)
from outpace.surfaces.web.entry.fields import Form
from outpace.surfaces.web.entry.shared_fields import Known

FORMS: dict[str, Callable[[Known], Form]] = {
    "walk": forms_upkeep.walk,
    "temperature": forms_house.typed_day,
    "card": forms_upkeep.card,
    "jar": forms_upkeep.jar,
    "stage": forms_house.stage,
    "arrival": forms_parcels.arrival,
    "check": forms_parcels.check,
    "order": forms_orders.order,
    "invoice": forms_orders.invoice,
    "release": forms_parcels.release,
    "spray": forms_spray.spray,
    "plants": forms_upkeep.plants,
    "banker": forms_upkeep.banker,
    "withdraw": forms_upkeep.withdraw,
    "harvest": forms_upkeep.harvest,
    "decision": forms_upkeep.decision,
    "farm": forms_place.farm,
    "house": forms_place.house,
    "zone": forms_house.zone,
    "level": forms_house.level,
    "standing": forms_standing.standing,
    "change": forms_standing.change,
    "pack": forms_parcels.pack,
    "permit": forms_upkeep.permit,
}

WITHOUT_FARM = ("farm",)
WITHOUT_HOUSE = ("farm", "house", "pack", "permit")


def groups() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the forms by what they belong to, as the page of all entries lists them."""
    return (
        (
            say("In the houses"),
            ("walk", "temperature", "card", "jar", "stage", "spray", "harvest", "decision"),
        ),
        (
            say("Enemies"),
            ("order", "standing", "change", "arrival", "check", "release", "banker", "withdraw", "invoice"),
        ),
        (say("Plants"), ("plants",)),
        (say("The farm"), ("farm", "house", "zone", "level", "pack", "permit")),
    )


def form_of(key: str, known: Known) -> Form:
    """Return a form with what the book offers to choose from.

    Raises
    ------
    OutpaceError
        If there is no such form.
    """
    if key not in FORMS:
        raise OutpaceError(
            say("no entry called {key}", key=repr(key)),
            allowed=say("known: {names}", names=", ".join(FORMS)),
            hint=say("see all entries"),
            code=ExitCode.USAGE,
        )
    return FORMS[key](known)
