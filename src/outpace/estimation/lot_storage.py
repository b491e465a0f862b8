"""What days in a cool store take off a lot: fewer come out, and those that do live shorter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Fact, Facts
from outpace.simulation.draws import Luck, spread_over
from outpace.terms.enemies import Lot

Array = NDArray[np.float64]

ADULTS = "adults"


@dataclass(frozen=True, slots=True)
class Kept:
    """Shares that storage leaves, shape (members,); ``days`` are those beyond which it costs any."""

    emergence: Array
    life: Array
    days: float
    facts: tuple[Fact, ...]


def stored_days(lot: Lot, let_go: date) -> int | None:
    """Return the days from packing, or from arrival where that is not told, to the release."""
    since = lot.packed
    if since is None and lot.arrived is not None:
        since = lot.arrived.date()
    return None if since is None else max((let_go - since).days, 0)


def kept_after(facts: Facts, lot: Lot, days: int | None, members: int, seed: int) -> Kept:
    """Return what so many days of storage leave of a lot.

    Up to the days that cost nothing all is kept; from there on a share is lost each day, of those that come out and of
    the life of those that do. Days that are not known cost nothing: the lot's range is wide already.

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> lot = Lot(lot="A", enemy="aphidius_matricariae", form="mummies", label_counts="unknown", labelled_number=9)
    >>> means = [kept_after(load(), lot, days, 4000, 1).emergence.mean() for days in (5, 12, 30)]
    >>> [round(float(mean), 1) for mean in means]
    [1.0, 0.9, 0.6]
    """
    stage = ADULTS if lot.form == ADULTS else ""
    free, out, life = (
        facts.one(lot.enemy, name, stage=stage)
        for name in ("storage_free", "storage_loss", "storage_life_loss")
    )
    nothing = np.ones(members)
    if days is None:
        return Kept(nothing, nothing, 0.0, ())
    luck = Luck(seed, members)

    def drawn(fact: Fact) -> Array:
        return spread_over(fact, luck.normal(f"{lot.enemy}.{fact.quantity}"), least=0.0)

    beyond = np.maximum(days - drawn(free), 0.0)
    if not beyond.any():
        return Kept(nothing, nothing, 0.0, ())
    return Kept(
        np.exp(-drawn(out) * beyond), np.exp(-drawn(life) * beyond), float(np.mean(beyond)), (free, out, life)
    )
