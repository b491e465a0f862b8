"""How likely a walk is, member by member: from densities in the house to numbers in the notebook.

Counts are negative binomial about the member's own mean, with k from Taylor's law times the clumping that is
re-estimated; the scout sees each aphid with a detection chance. Half of the clumping (on the log scale) is taken to
sit between plants: units of one plant, and mummies beside aphids, share it, and a fixed plant carries what is known of
its share to the next walk. Closed mummies are a stock, empty shells an accumulated stock; neither is a rate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betainc, gammaln, logsumexp

from outpace.biology.dispersion import clumping_from_taylor
from outpace.estimation.judgements import judgements
from outpace.estimation.observations import FIXED, LineSeen, MummiesSeen, WalkSeen
from outpace.estimation.plant_shares import nodes_of, split_clumping
from outpace.simulation.responses import LEAST_K, MOST_K

Array = NDArray[np.float64]

Parts = dict[tuple[int | None, int], Array]
"""Log likelihood by pest (None: mummies that several pests share) and zone, each of shape (members,)."""

LEAST_MEAN = 1e-9
FLOOR = -700.0


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands in the house when the walk is made, per unit of the walk, member by member.

    Parameters
    ----------
    aphids : array of float, shape (pests, zones + 1, members)
        Live aphids per unit; the last zone is the whole house.
    closed, empty : array of float, shape (enemies, zones + 1, members)
        Mummies per unit.
    units : array of float, shape (zones + 1,)
        Units that there are.
    taylor_a, taylor_b, log_clumping : array of float, shape (pests, members)
    detection : array of float, shape (members,)
    """

    aphids: Array
    closed: Array
    empty: Array
    units: Array
    taylor_a: Array
    taylor_b: Array
    log_clumping: Array
    detection: Array

    def k(self, pest: int, mean: Array) -> Array:
        """Return the clumping of a mean, shape (members,)."""
        law = clumping_from_taylor(np.maximum(mean, LEAST_MEAN), self.taylor_a[pest], self.taylor_b[pest])
        clumped = np.multiply(law, np.exp(-self.log_clumping[pest]))
        return np.asarray(np.clip(clumped, LEAST_K, MOST_K), dtype=np.float64)


@dataclass(slots=True)
class PlantMemory:
    """What is known of fixed plants: by how much each node of their share has gained, by (pest, plant)."""

    known: dict[tuple[int, int], tuple[float, Array]] = field(default_factory=dict)

    def log_weights(self, pest: int, plant: int, day: float, log_weights: Array) -> Array:
        """Return the log weights of the nodes, shape (nodes, members), from those of a plant never seen."""
        if (pest, plant) not in self.known:
            return log_weights
        when, gained = self.known[(pest, plant)]
        left: float = math.exp(-max(0.0, day - when) / judgements().plant_memory_d)
        weighted = log_weights + np.log(left * gained + (1 - left))[:, None]
        return np.asarray(weighted - logsumexp(weighted, axis=0))


def log_chance(low: ArrayLike, high: ArrayLike, mean: ArrayLike, k: ArrayLike) -> Array:
    """Return the log chance that a negative binomial count lies from low to high, both included.

    Parameters
    ----------
    low, high : array of float
        Whole numbers; ``high`` may be infinite.
    mean, k : array of float

    Examples
    --------
    >>> round(float(np.exp(log_chance(0, 0, 0.1, 0.5))), 5)
    0.91287
    >>> round(float(np.exp(log_chance(1, np.inf, 0.1, 0.5))), 5)
    0.08713
    """
    low, high, m, k = np.broadcast_arrays(
        *(np.asarray(each, dtype=np.float64) for each in (low, high, mean, k))
    )
    m = np.maximum(m, LEAST_MEAN)
    out = np.zeros(m.shape)
    one = low == high
    if one.any():
        out[one] = log_of_count(low[one], m[one], k[one])
    many = ~one & ((low > 0) | np.isfinite(high))
    if many.any():
        lo, hi, mean_, k_ = low[many], high[many], m[many], k[many]
        share = mean_ / (k_ + mean_)
        above_low = np.where(lo > 0, betainc(np.maximum(lo, 1.0), k_, share), 1.0)
        ends = np.isfinite(hi)
        above_high = np.where(ends, betainc(np.where(ends, hi, 0.0) + 1.0, k_, share), 0.0)
        with np.errstate(divide="ignore"):
            out[many] = np.log(np.maximum(above_low - above_high, 0.0))
    return np.asarray(np.maximum(out, FLOOR))


def log_of_count(x: Array | float, mean: Array, k: Array) -> Array:
    """Return the log chance of an exact count; what depends on k alone is computed in the shape of k."""
    if np.ndim(x) == 0 and x == 0:
        return np.asarray(-k * np.log1p(mean / k))
    alone = gammaln(np.add(x, k)) - gammaln(k) - gammaln(np.add(x, 1.0))
    return np.asarray(alone - k * np.log1p(mean / k) + x * (np.log(mean) - np.log(k + mean)))


def walk_log_likelihood(
    seen: WalkSeen, standing: Standing, ties: tuple[int | None, ...], memory: PlantMemory
) -> tuple[Parts, PlantMemory]:
    """Return the log likelihood of a walk, by pest and zone, and what it teaches of its fixed plants.

    Parameters
    ----------
    ties : tuple of int or None
        For each enemy the one pest among those present that it lives on, whose clumping its mummies share.
    memory : PlantMemory
        Not changed; the new one is returned.
    """
    if seen.hunted:
        return _hunted(seen, standing), memory
    parts: Parts = {}
    new = PlantMemory(dict(memory.known))
    groups = _tie(seen.mummies, ties)
    for pest in range(len(seen.low)):
        told = np.isfinite(seen.high[pest]) | (seen.low[pest] > 0)
        mummies = groups.get(pest, [])
        if told.any() or mummies:
            _of_pest(seen, standing, pest, told, mummies, memory, new, parts)
    for mummies_alone in groups.get(None, []):
        nothing = np.zeros(seen.units, dtype=bool)
        shared: Parts = {}
        _of_pest(seen, standing, 0, nothing, [mummies_alone], memory, None, shared)
        for (_, zone), log in shared.items():
            _add(parts, None, zone, log)
    return parts, new


def _add(parts: Parts, pest: int | None, zone: int, log: Array) -> None:
    parts[(pest, zone)] = parts[(pest, zone)] + log if (pest, zone) in parts else log


def _tie(
    mummies: tuple[MummiesSeen, ...], ties: tuple[int | None, ...]
) -> dict[int | None, list[MummiesSeen]]:
    groups: dict[int | None, list[MummiesSeen]] = {}
    for each in mummies:
        hosts = {ties[enemy] for enemy in each.enemies if enemy < len(ties)}
        groups.setdefault(hosts.pop() if len(hosts) == 1 else None, []).append(each)
    return groups


def _of_pest(
    seen: WalkSeen,
    standing: Standing,
    pest: int,
    told: NDArray[np.bool_],
    mummies: list[MummiesSeen],
    memory: PlantMemory,
    new: PlantMemory | None,
    parts: Parts,
) -> None:
    """Add the log likelihood of the counts of one pest and of the mummies tied to it, plant by plant."""
    by_plant: dict[int, list[tuple[str, int, float, float, int]]] = {}
    for u in range(seen.units):
        plant, zone = int(seen.plant[u]), int(seen.zone[u])
        looks = by_plant.setdefault(plant, [])
        if told[u]:
            looks.append(("aphids", 0, float(seen.low[pest, u]), float(seen.high[pest, u]), zone))
        for i, each in enumerate(mummies):
            for kind, counts in (("closed", each.closed), ("empty", each.empty)):
                if not np.isnan(counts[u]):
                    looks.append((kind, i, float(counts[u]), float(counts[u]), zone))
    by_plant = {plant: looks for plant, looks in by_plant.items() if looks}
    fixed = seen.chosen == FIXED
    table = _Table(standing, pest, mummies)
    alike: dict[tuple[tuple[str, int, float, float, int], ...], int] = {}
    for plant, looks in by_plant.items():
        if not fixed:
            key = tuple(sorted(looks))
            alike[key] = alike.get(key, 0) + 1
            continue
        zone = looks[0][4]
        prior = memory.log_weights(pest, plant, seen.day, table.log_weights(zone))
        at_nodes = prior + sum(table.at_nodes(look) for look in looks)
        of_plant = logsumexp(at_nodes, axis=0)
        _add(parts, pest, zone, of_plant)
        if new is not None:
            held = np.exp(at_nodes - of_plant).mean(axis=1) / np.exp(table.log_weights(zone)).mean(axis=1)
            new.known[(pest, plant)] = (seen.day, held)
    for key, times in alike.items():
        zone = key[0][4]
        if len(key) == 1:
            _add(parts, pest, zone, times * table.whole(key[0]))
        else:
            at_nodes = table.log_weights(zone) + sum(table.at_nodes(look) for look in key)
            _add(parts, pest, zone, times * _log_sum(at_nodes))


class _Table:
    """Log chances of single looks, each computed once."""

    def __init__(self, standing: Standing, pest: int, mummies: list[MummiesSeen]) -> None:
        self.standing, self.pest, self.mummies = standing, pest, mummies
        self.kept: dict[tuple[str, int, float, float, int], Array] = {}
        self.kept_whole: dict[tuple[str, int, float, float, int], Array] = {}
        self.nodes: dict[int, tuple[Array, Array]] = {}

    def _mean(self, kind: str, which: int, zone: int) -> Array:
        s = self.standing
        if kind == "aphids":
            return np.asarray(s.detection * s.aphids[self.pest, zone])
        stock = s.closed if kind == "closed" else s.empty
        enemies = list(self.mummies[which].enemies)
        return np.asarray(s.detection * stock[enemies, zone].sum(axis=0))

    def _nodes(self, zone: int) -> tuple[Array, Array]:
        """Shares of plants of the pest in a zone, and their log weights, each (nodes, members)."""
        if zone not in self.nodes:
            between, _ = split_clumping(self.standing.k(self.pest, self.standing.aphids[self.pest, zone]))
            self.nodes[zone] = nodes_of(between)
        return self.nodes[zone]

    def log_weights(self, zone: int) -> Array:
        return self._nodes(zone)[1]

    def at_nodes(self, look: tuple[str, int, float, float, int]) -> Array:
        """Shape (nodes, members): given the plant's share."""
        if look not in self.kept:
            kind, which, low, high, zone = look
            mean = self._mean(kind, which, zone)
            _, within = split_clumping(self.standing.k(self.pest, mean))
            at = np.maximum(self._nodes(zone)[0] * mean, LEAST_MEAN)
            exact = low == high
            self.kept[look] = (
                log_of_count(low, at, within[None]) if exact else log_chance(low, high, at, within[None])
            )
        return self.kept[look]

    def whole(self, look: tuple[str, int, float, float, int]) -> Array:
        """Shape (members,): of a plant looked at once."""
        if look not in self.kept_whole:
            kind, which, low, high, zone = look
            mean = self._mean(kind, which, zone)
            self.kept_whole[look] = log_chance(low, high, mean, self.standing.k(self.pest, mean))
        return self.kept_whole[look]


def _log_sum(at_nodes: Array) -> Array:
    """Return the log of the sum over nodes."""
    top = at_nodes.max(axis=0)
    return np.asarray(top + np.log(np.exp(at_nodes - top).sum(axis=0)))


def _hunted(seen: WalkSeen, standing: Standing) -> Parts:
    """Hunted units say only that some place of the house is at least as bad as the worst of them."""
    parts: Parts = {}
    for pest in range(len(seen.low)):
        worst = int(seen.low[pest].argmax()) if seen.units else 0
        if seen.units and seen.low[pest, worst] > 0:
            zone = int(seen.zone[worst])
            mean = standing.detection * standing.aphids[pest, zone]
            log = _some_unit(float(seen.low[pest, worst]), mean, standing.k(pest, mean), standing.units[zone])
            _add(parts, pest, zone, log)
    for each in seen.mummies:
        for stock, counts in ((standing.closed, each.closed), (standing.empty, each.empty)):
            most = np.nanmax(counts) if not np.isnan(counts).all() else 0.0
            if most > 0:
                zone = int(seen.zone[int(np.nanargmax(counts))])
                mean = standing.detection * stock[list(each.enemies), zone].sum(axis=0)
                log = _some_unit(float(most), mean, standing.k(0, mean), standing.units[zone])
                _add(parts, None, zone, log)
    return parts


def _some_unit(least: float, mean: Array, k: Array, units: float) -> Array:
    """Log chance that at least one of so many units carries at least so many."""
    one = np.exp(log_chance(least, np.inf, mean, k))
    return np.asarray(
        np.maximum(np.log(-np.expm1(units * np.log1p(-np.minimum(one, 1 - 1e-12))) + 1e-300), FLOOR)
    )


def line_log_likelihood(seen: LineSeen, standing: Standing, enemies: tuple[int, ...]) -> Array:
    """Return the log likelihood of a walk told in one line, shape (members,).

    Infested of looked at by the clumped law; the total among the infested ones by its own mean and variance,
    widened because it was told as "about"; mummies likewise.

    Parameters
    ----------
    enemies : tuple of int
        Those whose mummies the line counts.
    """
    mean = np.maximum(standing.detection * standing.aphids[seen.pest, seen.zone], LEAST_MEAN)
    k = standing.k(seen.pest, mean)
    if seen.hunted:
        if seen.infested == 0:
            return np.zeros(mean.shape)
        least = max(1.0, np.floor((seen.aphids_about or 0.0) / seen.infested))
        return _some_unit(least, mean, k, standing.units[seen.zone])
    log_clean = -k * np.log1p(mean / k)
    share = -np.expm1(log_clean)
    clean = seen.looked_at - seen.infested
    total = np.asarray(seen.infested * np.log(np.maximum(share, 1e-300)) + clean * log_clean)
    if seen.aphids_about and seen.infested:
        per_infested = mean / share
        variance = (mean + mean**2 * (1 + 1 / k)) / share - per_infested**2
        relative = variance / (seen.infested * per_infested**2)
        width = judgements().about_sd ** 2 + np.log1p(relative)
        middle = np.log(seen.infested * per_infested) - 0.5 * np.log1p(relative)
        total += -0.5 * (np.log(seen.aphids_about) - middle) ** 2 / width - 0.5 * np.log(width)
    if seen.mummies_about is not None and enemies:
        stock = standing.detection * standing.closed[list(enemies), seen.zone].sum(axis=0)
        spread = 1 / (seen.looked_at * standing.k(seen.pest, stock)) + judgements().about_sd ** 2
        count = float(round(seen.mummies_about))
        total += log_chance(count, count, seen.looked_at * stock, 1 / spread)
    return np.asarray(np.maximum(total, FLOOR))
