"""How many females a lot will give, from what the label counts and from the grower's own checks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from outpace.facts.table import Fact, Facts
from outpace.terms.enemies import Check, Lot

Array = NDArray[np.float64]

NINETY = 3.2897  # a 90 % range of a normal spans this many standard deviations


@dataclass(frozen=True, slots=True)
class LotQuality:
    """What one labelled animal of a lot is worth, member by member.

    ``units_per_label`` turns the labelled number into units in the carrier. ``emergence`` and ``share_female`` have
    shape (members,). ``checked`` is the number of units that the grower looked at.
    """

    units_per_label: float
    emergence: Array
    share_female: Array
    checked: int
    facts: tuple[Fact, ...]
    unknown_label: bool


def lot_quality(facts: Facts, lot: Lot, checks: Sequence[Check], members: int, seed: int) -> LotQuality:
    """Return draws of emergence and share of females of one lot.

    The prior is a beta distribution with the fact's value and 90 % range; emergence and sex checks of this lot
    update it exactly. Where the label counts adults to be expected, the units in the carrier are the
    number over the promised emergence (the fact's value). Where it is not known what the label counts, half
    of the members take it one way and half the other.

    Parameters
    ----------
    lot : Lot
    checks : sequence of Check
        All checks of the book; those of other lots are passed over.
    members : int
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    quality : LotQuality

    Examples
    --------
    >>> from outpace.facts.table import load
    >>> lot = Lot(lot="A1", enemy="aphidius_colemani", form="mummies", label_counts="units_in_pack",
    ...           labelled_number=500)
    >>> quality = lot_quality(load(), lot, [], members=4000, seed=1)
    >>> abs(float(quality.emergence.mean()) - load().one("aphidius_colemani", "emergence").value) < 0.02
    True
    """
    own = [check for check in checks if check.lot == lot.lot]
    rng = np.random.Generator(np.random.Philox(key=[seed, _digest(lot.lot)]))
    emergence_fact = facts.one(lot.enemy, "emergence")
    used = [emergence_fact]
    looked, out = _sum(own, ("emergence", "live count", "jar"))
    emergence = rng.beta(*_updated(emergence_fact, looked, out), size=members)
    sexed, females = _sum(own, ("sex",))
    sex_fact = facts.find(lot.enemy, "share_female")
    if sex_fact is None:
        share_female = np.ones(members)
    else:
        used.append(sex_fact)
        share_female = rng.beta(*_updated(sex_fact, sexed, females), size=members)
    units_per_label = 1.0
    if lot.label_counts != "units_in_pack":
        units_per_label = 1.0 / emergence_fact.value
        if lot.label_counts == "unknown":
            counts_units = rng.random(members) < 0.5
            emergence = np.where(counts_units, emergence / units_per_label, emergence)
    return LotQuality(
        units_per_label=units_per_label,
        emergence=emergence,
        share_female=share_female,
        checked=looked,
        facts=tuple(used),
        unknown_label=lot.label_counts == "unknown",
    )


def _sum(checks: Sequence[Check], kinds: tuple[str, ...]) -> tuple[int, int]:
    counted = [check for check in checks if check.kind in kinds]
    return sum(check.looked_at for check in counted), sum(check.positive for check in counted)


def _updated(fact: Fact, looked_at: int, positive: int) -> tuple[float, float]:
    low = fact.low if fact.low is not None else max(fact.value - 0.1, 0.0)
    high = fact.high if fact.high is not None else min(fact.value + 0.1, 1.0)
    mean = min(max(fact.value, 0.01), 0.99)
    sd = min(max((high - low) / NINETY, 0.01), 0.9 * float(np.sqrt(mean * (1 - mean))))
    weight = mean * (1 - mean) / sd**2 - 1
    return mean * weight + positive, (1 - mean) * weight + looked_at - positive


def _digest(name: str) -> int:
    value = 0
    for byte in name.encode():
        value = (value * 257 + byte) % (2**61 - 1)
    return value
