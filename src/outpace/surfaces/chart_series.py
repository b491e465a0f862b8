"""What a chart of a house shows, picked out of the answer of `outpace ahead`: past, days ahead, walks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

Answer = Mapping[str, Any]
Kind = Literal["aphids", "mummies"]


def series(answer: Answer, pest: Answer, kind: Kind) -> tuple[list[Answer], list[Answer]]:
    """Return the bands of the past and of the days ahead, each day ``{date, q05 .. q95}``."""
    column = "aphids" if kind == "aphids" else "mummies_closed"
    ahead: list[Answer] = [{"date": day["date"], **day[column]} for day in pest["days"] if day.get(column)]
    if kind == "mummies":
        return [], ahead
    parts = [part for part in answer.get("past") or () if part["pest"] == pest["pest"]]
    own = [part for part in parts if part.get("zone") == pest.get("zone")]
    past = [day for part in own or parts[:1] for day in part["days"]]
    if not pest["days"]:
        # Without a forecast nothing runs on after the last count, not even to today.
        last = max((str(walk["date"])[:10] for walk in walks_of(answer, pest)), default="")
        past = [day for day in past if str(day["date"])[:10] <= last]
    return past, ahead


def pests_of(answer: Answer) -> list[Answer]:
    """Return what the answer forecasts, or where it forecasts nothing, what was counted on walks."""
    if answer.get("pests"):
        return list(answer["pests"])
    counted = {(walk["pest"], walk["unit"]): None for walk in answer.get("walks") or ()}
    return [
        {"pest": pest, "zone": None, "unit": unit, "action_level": None, "days": []} for pest, unit in counted
    ]


def tells_of_house(answer: Answer, pest: Answer) -> bool:
    """Return whether dots and past in a zone's chart are those of its whole house."""
    zones = {part.get("zone") for part in answer.get("past") or () if part["pest"] == pest["pest"]}
    return bool(pest.get("zone")) and pest["zone"] != "whole house" and pest["zone"] not in zones


def walks_of(answer: Answer, pest: Answer) -> list[Answer]:
    """Return the walks that counted this pest in the unit of its forecast."""
    return [
        walk
        for walk in answer.get("walks") or ()
        if walk["pest"] == pest["pest"] and (not pest.get("unit") or walk["unit"] == pest["unit"])
    ]


def release_label(number: int) -> str:
    """Return the short name by which a chart and its table call a release."""
    return f"R{number + 1}"


def mummies_per_unit(walk: Answer) -> float | None:
    """Return the mummies a walk found per unit looked at, or nothing where it did not count them."""
    if walk.get("mummies") is None or not walk.get("looked_at"):
        return None
    return float(walk["mummies"]) / float(walk["looked_at"])
