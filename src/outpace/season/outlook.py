"""What is held of a house after its walks; kept as long as the book's head stays the same."""

from __future__ import annotations

import threading
from collections import OrderedDict
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from outpace.estimation.assimilation import Posterior, refit
from outpace.estimation.bands import SHARE_INFESTED, infested_share
from outpace.estimation.forecast import ways_ahead
from outpace.estimation.hyperparasitoids import with_hyperparasitoids
from outpace.estimation.observations import units_per_plant
from outpace.estimation.pooling import Beliefs
from outpace.estimation.weighing import in_order, of_members
from outpace.facts.table import Facts
from outpace.language import Manner, manner
from outpace.planning.house_outlook import HouseOutlook, from_today
from outpace.season.case import MEMBERS, HouseCase, house_case
from outpace.season.evidence import case_digest, digest_of
from outpace.season.levels import Level
from outpace.season.pooling import beliefs_of
from outpace.simulation.parameters import Parameters
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

Array = NDArray[np.float64]

KEPT = 64
STALE_AFTER_D = 10
WEEK_D = 7
FINEST, COARSEST = 1e-4, 1e5  # aphids per plant between which a share of infested plants is looked up


class Outlook:
    """A house with its case and posterior; ``age_d`` counts the nights since its last walk, None without any.

    The posterior is refitted when it is first asked for: an answer that is kept by what it rests on does without.
    """

    def __init__(self, case: HouseCase, beliefs: Beliefs) -> None:
        last = case.rows.last
        self.case = case
        self.beliefs = beliefs
        self.age_d = None if last is None else (case.day - last.time.astimezone(case.now.tzinfo).date()).days
        self._posterior: Posterior | None = None
        self._refitting = threading.Lock()

    @property
    def posterior(self) -> Posterior:
        """Return what is held of the house after its walks."""
        with self._refitting:
            if self._posterior is None:
                self._posterior = populated(self.case, _refitted(self.case, self.beliefs))
            return self._posterior

    def of(self, case: HouseCase) -> Outlook:
        """Return the same house, its case told otherwise; what is held of it is shared."""
        return _Retold(case, self)

    @cached_property
    def digest(self) -> str:
        """Return the digest of all that the posterior and the forecast rest on."""
        told = [(*place, belief) for place, belief in sorted(self.beliefs.items())]
        return digest_of(case_digest(self.case), told)

    @property
    def stale(self) -> bool:
        """Return whether the last walk is too old to speak from."""
        return self.age_d is None or self.age_d > STALE_AFTER_D


class _Retold(Outlook):
    def __init__(self, case: HouseCase, told: Outlook) -> None:
        super().__init__(case, told.beliefs)
        self._told = told

    @property
    def posterior(self) -> Posterior:
        return self._told.posterior


_kept: OrderedDict[tuple[tuple[str, ...], Manner], Outlook] = OrderedDict()
_lock = threading.Lock()


def outlook(
    snapshot: Snapshot,
    farm: Farm,
    house: House,
    *,
    facts: Facts | None = None,
    members: int = MEMBERS,
    other: int = 0,
) -> Outlook:
    """Return what is held of a house by the snapshot; ``other`` members where another number is given."""
    place = (snapshot.head, str(snapshot.as_of), farm.farm, house.house, str(members), str(other))
    with _lock:
        kept = _kept.get((place, manner())) if facts is None else None
        alike = (
            next((held for (of, _), held in _kept.items() if of == place), None) if facts is None else None
        )
        if kept is not None:
            _kept.move_to_end((place, manner()))
            return kept
    case = house_case(snapshot, farm, house, facts=facts, members=members, other=other)
    # Told in another language or other units: the words are said anew, the refit is the same.
    found = Outlook(case, beliefs_of(case, facts)) if alike is None else alike.of(case)
    if facts is None and not other:
        # Members that judge a plan are asked for once, and four times as many.
        with _lock:
            _kept[place, manner()] = found
            while len(_kept) > KEPT:
                _kept.popitem(last=False)
    return found


def _refitted(case: HouseCase, beliefs: Beliefs) -> Posterior:
    return refit(
        case.model,
        case.facts,
        case.temperature.hours,
        case.walks,
        case.let_go.releases,
        case.sprays,
        first_day=0,
        until_day=case.today,
        members=case.members,
        seed=case.seed,
        beliefs=beliefs,
        cards=case.cards,
    )


def populated(case: HouseCase, posterior: Posterior) -> Posterior:
    """Return the members with hyperparasitoids in them, where anything points to such."""
    if case.hyper_share is None:
        return posterior
    week = in_order(case.temperature.hours, posterior.lineage)[24 * case.today :][: 24 * WEEK_D]
    warmth = np.broadcast_to(week.mean(axis=0), (posterior.members,))
    return with_hyperparasitoids(posterior, case.hyper_share, warmth, case.hyper_facts)


def for_planning(found: Outlook, horizon_d: int = 28) -> HouseOutlook:
    """Return the house as the planner sees it: from today, with what is on its way."""
    case, lineage = found.case, found.posterior.lineage
    return HouseOutlook(
        name=case.house.house,
        model=case.model,
        parameters=found.posterior.parameters,
        state=found.posterior.state,
        today=case.today,
        temperature=from_today(in_order(case.temperature.hours, lineage), case.today),
        committed=tuple(
            of_members(release, lineage) for release in case.let_go.releases if release.day >= case.today
        ),
        sprays=tuple(of_members(spray, lineage) for spray in case.sprays),
        limits=_limits(case, found.posterior.parameters),
        seed=case.seed,
        horizon_d=horizon_d,
        ways=ways_ahead(case.model, horizon_d, found.posterior.members, found.posterior.seed),
    )


def _limits(case: HouseCase, parameters: Parameters) -> Array:
    members = parameters.members
    limits = np.empty((len(case.model.pests), len(case.model.zones), members))
    for pest, level in enumerate(case.levels):
        limits[pest] = _per_plant(case, parameters, pest, level)[None, :] * case.model.plants[:, None]
    return limits


def _per_plant(case: HouseCase, parameters: Parameters, pest: int, level: Level) -> Array:
    """Return the aphids per plant at which a member reaches the level, shape (members,)."""
    members = parameters.members
    if level.unit != SHARE_INFESTED:
        return np.full(members, level.value * units_per_plant(case.model, level.unit, case.today))
    grid = np.geomspace(FINEST, COARSEST, 120)
    shares = infested_share(np.repeat(grid[:, None], members, axis=1), parameters, pest)
    found = [np.interp(level.value, shares[:, m], grid) for m in range(members)]
    return np.asarray(found)
