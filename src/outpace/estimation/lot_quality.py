"""How many females a lot will give, from what the label counts and from the grower's own checks."""

from __future__ import annotations

import threading
from collections import defaultdict, deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaincinv

from outpace.estimation.lot_checks import GIVES_ADULTS, Counted, counted, finished
from outpace.facts.table import Fact, Facts
from outpace.terms.enemies import Check, Lot

Array = NDArray[np.float64]

_latest: deque[tuple[tuple[object, ...], tuple[str, ...], tuple[tuple[Lot, Counted], ...]]] = deque(maxlen=8)
_lock = threading.Lock()

NINETY = 3.2897  # a 90 % range of a normal spans this many standard deviations


@dataclass(frozen=True, slots=True)
class LotQuality:
    """What one labelled animal of a lot is worth, member by member.

    ``units_per_label`` turns the labelled number into units in the carrier. ``emergence`` and ``share_female`` have
    shape (members,). ``checked`` is the number of units that the grower looked at, early looks left out.
    """

    units_per_label: float
    emergence: Array
    share_female: Array
    checked: int
    facts: tuple[Fact, ...]
    unknown_label: bool


class Beta(NamedTuple):
    """A beta distribution of a share: its mean is a / (a + b), its weight a + b."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """Return the expected share."""
        return self.a / (self.a + self.b)

    def after(self, seen: Counted) -> Beta:
        """Return the distribution after a count, by Bayes' rule.

        Examples
        --------
        >>> Beta(8.0, 2.0).after(Counted(5, 10))
        Beta(a=13.0, b=7.0)
        """
        return Beta(self.a + seen.positive, self.b + seen.looked_at - seen.positive)

    def quantile(self, chance: float) -> float:
        """Return the share that is not exceeded with this chance."""
        return float(betaincinv(self.a, self.b, chance))

    def below(self, share: float) -> float:
        """Return the chance that the true share lies below."""
        return float(betainc(self.a, self.b, min(max(share, 0.0), 1.0)))


def prior_of(fact: Fact, own: Sequence[Counted], between: float) -> Beta:
    """Return what is known of a share before a lot is checked: the fact, moved by checks of the farm's own lots.

    The variance of the fact is split in two: one part lies between the lots of a farm and stays, the other is
    how good its lots are in the mean. Each checked lot teaches the mean, and however many
    units were counted, it teaches no more than one lot can.

    Parameters
    ----------
    fact : Fact
        A share with its 90 % range.
    own : sequence of Counted
        One a lot of the same enemy, other than the lot itself.
    between : float
        Share of the variance that lies between lots, above 0 and below 1.

    Returns
    -------
    prior : Beta
        That of the fact where ``own`` is empty.
    """
    low = fact.low if fact.low is not None else max(fact.value - 0.1, 0.0)
    high = fact.high if fact.high is not None else min(fact.value + 0.1, 1.0)
    mean = min(max(fact.value, 0.01), 0.99)
    sd = min(max((high - low) / NINETY, 0.01), 0.9 * float(np.sqrt(mean * (1 - mean))))
    weight = mean * (1 - mean) / sd**2 - 1
    told = [each for each in own if each.looked_at > 0]
    if not told:
        return Beta(mean * weight, (1 - mean) * weight)
    # Correlation of two units of one lot given the farm's mean; with no lot checked both parts make up the
    # variance of the fact.
    alike = between / (weight + between)
    of_mean = (weight + 1) / (1 - between) - 1
    a, b = mean * of_mean, (1 - mean) * of_mean
    for positive, looked_at in told:
        worth = looked_at / (1 + (looked_at - 1) * alike)
        a += worth * positive / looked_at
        b += worth * (1 - positive / looked_at)
    middle = a / (a + b)
    variance_per = alike + (1 - alike) / (a + b + 1)
    return Beta(middle * (1 / variance_per - 1), (1 - middle) * (1 / variance_per - 1))


def own_lots(
    facts: Facts, lot: Lot, lots: Sequence[Lot], checks: Sequence[Check], kinds: Sequence[str]
) -> tuple[Counted, ...]:
    """Return the checks of the farm's other lots of the same enemy and form, one sum a lot."""
    return tuple(
        each
        for other, each in _checked(facts, lots, checks, tuple(kinds))
        if other.lot != lot.lot and (other.enemy, other.form) == (lot.enemy, lot.form)
    )


def _checked(
    facts: Facts, lots: Sequence[Lot], checks: Sequence[Check], kinds: tuple[str, ...]
) -> tuple[tuple[Lot, Counted], ...]:
    """Return each lot of which anything was counted, with the sum; asked for lot after lot, reckoned once."""
    asked = (facts, lots, checks)
    with _lock:
        for held, of, found in _latest:
            if of == kinds and all(one is other for one, other in zip(held, asked, strict=True)):
                return found
    of_lot: dict[str, list[Check]] = defaultdict(list)
    for check in checks:
        of_lot[check.lot].append(check)
    sums = ((lot, counted(finished(facts, lot, of_lot[lot.lot], kinds))) for lot in lots if of_lot[lot.lot])
    found = tuple((lot, each) for lot, each in sums if each.looked_at > 0)
    if isinstance(lots, tuple) and isinstance(checks, tuple):  # what could change is not kept
        with _lock:
            _latest.append((asked, kinds, found))
    return found


def emergence_of(
    facts: Facts, lot: Lot, checks: Sequence[Check], lots: Sequence[Lot] = ()
) -> tuple[Fact, Beta, Counted]:
    """Return the fact, the prior and the finished checks of a lot's emergence."""
    fact = facts.one(lot.enemy, "emergence")
    prior = prior_of(fact, own_lots(facts, lot, lots, checks, GIVES_ADULTS), _between(facts, lot))
    return fact, prior, counted(finished(facts, lot, checks))


def share_female_of(
    facts: Facts, lot: Lot, checks: Sequence[Check], lots: Sequence[Lot] = ()
) -> tuple[Fact, Beta, Counted] | None:
    """Return the same of its share of females; None where the enemy has no figure for it."""
    fact = facts.find(lot.enemy, "share_female")
    if fact is None:
        return None
    prior = prior_of(fact, own_lots(facts, lot, lots, checks, ("sex",)), _between(facts, lot))
    return fact, prior, counted(finished(facts, lot, checks, ("sex",)))


def lot_quality(
    facts: Facts,
    lot: Lot,
    checks: Sequence[Check],
    members: int,
    seed: int,
    *,
    lots: Sequence[Lot] = (),
) -> LotQuality:
    """Return draws of emergence and share of females of one lot.

    The prior is a beta distribution with the fact's value and 90 % range; emergence and sex checks of this lot
    update it exactly, early looks left out. Where the label counts adults to be expected, the units in the
    carrier are the number over the promised emergence (the fact's value). Where it is not known what the label
    counts, half of the members take it one way and half the other.

    Parameters
    ----------
    lot : Lot
    checks : sequence of Check
        All checks of the book; those of other lots are passed over.
    members : int
    seed : int
        The same seed gives the same draws.
    lots : sequence of Lot, optional
        All lots of the farm: the checks of those of the same enemy and form move the prior.

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
    rng = np.random.Generator(np.random.Philox(key=[seed, _digest(lot.lot)]))
    emergence_fact, prior, seen = emergence_of(facts, lot, checks, lots)
    used = [emergence_fact]
    emergence = rng.beta(*prior.after(seen), size=members)
    females = share_female_of(facts, lot, checks, lots)
    if females is None:
        share_female = np.ones(members)
    else:
        sex_fact, sex_prior, sexed = females
        used.append(sex_fact)
        share_female = rng.beta(*sex_prior.after(sexed), size=members)
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
        checked=seen.looked_at,
        facts=tuple(used),
        unknown_label=lot.label_counts == "unknown",
    )


def _between(facts: Facts, lot: Lot) -> float:
    return facts.one(lot.enemy, "lot_to_lot_share").value


def _digest(name: str) -> int:
    value = 0
    for byte in name.encode():
        value = (value * 257 + byte) % (2**61 - 1)
    return value
