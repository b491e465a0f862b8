"""The policies that are compared, each at five levels of spend or more."""

from __future__ import annotations

from collections.abc import Callable

from benchmarks.loop.calendars import both, constant, curative, front_loaded, nothing, preventive, threshold
from benchmarks.loop.deciding import Setting, outpace_policy
from benchmarks.loop.tuning import candidates
from benchmarks.virtual_house.season import Policy

from outpace.facts.table import Facts

Make = Callable[[Facts], Policy]

CHOOSE = frozenset({"outpace"})
"""Policies that name the enemy they order by the facts; the others order what is usual in the house."""

SETTINGS = (
    Setting(opening=20, risk=1.0, loss=0.0),
    Setting(opening=20, risk=0.5, loss=1.0),
    Setting(opening=40, risk=0.35, loss=1.5),
    Setting(opening=80, risk=0.2, loss=3.0),
    Setting(opening=80, risk=0.1, loss=6.0),
)
"""Opening packs, accepted risk and loss [money m⁻²] with which the product decides, tried on development seasons."""
FINALISTS = (
    "6 x0.7 3 every 7 d, least 0",
    "20 x0 1 every 7 d, least 0",
    "20 x0.5 3 every 7 d, least 0",
    "40 x0 1 every 7 d, least 0",
    "40 x0.5 9 every 14 d, least 2",
    "40 x0.5 9 every 14 d, least 5",
    "80 x0.5 9 every 14 d, least 5",
    "80 x0.5 9 every 14 d, least 10",
    "80 x0.5 17 every 7 d, least 10",
    "80 x0.7 17 every 7 d, least 20",
    "160 x0.5 17 every 7 d, least 20",
)
"""Front-loaded calendars that were left of the race and met all 300 development seasons."""


def policies() -> dict[str, dict[str, Make]]:
    """Return policy → level of spend → how to make it for a season; the lists run from cheap to dear."""
    shapes = candidates()
    return {
        "nothing": {"0": lambda facts: nothing},
        "outpace": {
            f"opening {each.opening}, risk {each.risk:g}, loss {each.loss:g}": (
                lambda facts, s=each: outpace_policy(facts, s)
            )
            for each in SETTINGS
        },
        "front-loaded": {name: (lambda facts, s=shapes[name]: front_loaded(s)) for name in FINALISTS},
        "trade, preventive": {
            f"{rate:g}": (lambda facts, r=rate: preventive(facts, r)) for rate in (0.15, 0.5, 1.0, 2.0, 4.0)
        },
        "trade, curative": {
            f"{rate:g}": (lambda facts, r=rate: curative(facts, r)) for rate in (0.25, 0.5, 1.0, 2.0, 4.0)
        },
        "trade, both": {
            f"{low:g} then {high:g}": (lambda facts, a=low, b=high: both(facts, a, b))
            for low, high in ((0.15, 0.25), (0.15, 0.5), (0.5, 1.0), (0.5, 2.0), (1.0, 4.0))
        },
        "constant weekly": {
            f"{rate:g}": (lambda facts, r=rate: constant(r)) for rate in (0.1, 0.25, 0.5, 1.0, 2.0)
        },
        "threshold": {
            f"above {share:g} of the level: {rate:g}": (lambda facts, q=share, r=rate: threshold(q, r))
            for share, rate in ((0.02, 0.5), (0.02, 1.0), (0.02, 2.0), (0.02, 4.0), (0.1, 4.0))
        },
    }
