"""What is asked of the planner for one house: what is held of it, what can be had for it, and how sure it must be."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from outpace.facts.table import Fact, Facts
from outpace.planning.candidate_house import Asked
from outpace.planning.candidates import Candidate
from outpace.planning.delivery_calendar import slots
from outpace.planning.house_outlook import HouseOutlook, LaterHouse
from outpace.planning.offer import Offer
from outpace.season.enemies import cold_caution, surroundings
from outpace.season.evidence import digest_of
from outpace.season.offers import DELIVERIES_AHEAD_D, candidates, offers_for, packs_in_force, use_of
from outpace.season.outlook import Outlook, for_planning, outlook
from outpace.season.plan_kept import Earlier, Standing, standing_from
from outpace.season.sprayed import release_hold, sprays_of
from outpace.season.studied import domain_cautions
from outpace.season.wrong_enemies import wrong_enemies
from outpace.terms.place import Farm, House
from outpace.terms.tables import Snapshot

HORIZON_D = 28
WALKS_TO_LEARN = 3
JUDGES = 4096
OTHER_MEMBERS = 1
"""Any number but 0, which the forecast has."""


@dataclass(frozen=True)
class AskedHouse:
    """One house on its way into the plan of the farm, with the facts and cautions that go with it.

    ``studied`` are the cautions of warmth beyond what was studied; ``earlier`` what earlier plans found, and keeps what
    this one finds.
    """

    found: Outlook
    asked: Asked
    ranked: tuple[Candidate, ...]
    use: str
    used: tuple[Fact, ...]
    cautions: tuple[str, ...]
    studied: tuple[str, ...] = ()
    earlier: Earlier | None = None


def ask(
    snapshot: Snapshot, farm: Farm, house: House, *, facts: Facts | None, below_published: bool
) -> AskedHouse | None:
    """Return what is asked for a house; None where no walk tells what stands in it."""
    found = outlook(snapshot, farm, house, facts=facts)
    case = found.case
    if case.rows.last is None:
        return None
    packs = packs_in_force(snapshot, case.day)
    ranked = candidates(case, packs)

    def look() -> Standing:
        use = use_of(case, mean_over_level(found))
        return Standing(use, tuple(cold_caution(found)), tuple(found.posterior.facts))

    standing = look() if facts is not None else standing_from(asked_digest(found), look)
    floor = not below_published and not has_learned(found)

    def offered(seen: Outlook, members: int) -> tuple[tuple[Offer, ...], tuple[Fact, ...]]:
        return offers_for(seen.case, packs, ranked, use=standing.use, floor=floor, members=members)

    def judge() -> tuple[HouseOutlook, tuple[Offer, ...]]:
        others = outlook(snapshot, farm, house, facts=facts, members=JUDGES, other=OTHER_MEMBERS)
        return for_planning(others, HORIZON_D), offered(others, JUDGES)[0]

    planner = LaterHouse(
        name=house.house,
        members=case.members,
        today=case.today,
        horizon_d=HORIZON_D,
        lay=lambda: for_planning(found, HORIZON_D),
    )
    offers, used = offered(found, case.members)
    earlier = None if facts is not None else Earlier(found, JUDGES, HORIZON_D)
    risk = farm.risk if farm.risk is not None else case.facts.one("", "accepted_risk").value
    fitting = [item.enemy for item in ranked if item.fits]
    ahead = case.temperature.hours[case.today * 24 : (case.today + HORIZON_D) * 24]
    return AskedHouse(
        found=found,
        asked=Asked(planner, offers, risk, judge, judges=JUDGES, figures=earlier),
        ranked=ranked,
        use=standing.use,
        used=(
            *used,
            *(fact for item in ranked if item.fits for fact in item.facts),
            *standing.facts,
        ),
        cautions=(*wrong_enemies(case), *standing.cold),
        studied=tuple(domain_cautions(case.facts, [*case.model.pests, *fitting], ahead)),
        earlier=earlier,
    )


def asked_digest(found: Outlook) -> str:
    """Return the digest of all that is asked for a house: what is held of it, what can be had, and on which days.

    The hour counts by what it changes: which cut-offs are still to come, and how long sprays hold releases back.
    """
    case = found.case
    packs = packs_in_force(case.snapshot, case.day)
    now = case.now.replace(tzinfo=None)
    days = [case.day + timedelta(days=d) for d in range(DELIVERIES_AHEAD_D + 1)]
    sprays = sprays_of(case.snapshot, case.facts, case.farm, case.house)
    return digest_of(
        found.digest,
        packs,
        candidates(case, packs),
        [slots(pack, now, days[-1]) for pack in packs],
        [release_hold(sprays, day) for day in days],
        surroundings(case),
    )


def mean_over_level(found: Outlook) -> float:
    """Return how many times its level the worst aphid is now, by the middle of what is held likely."""
    past, case = found.posterior.past, found.case
    ratios = [
        float(np.median(past.live(pest, unit=level.unit)[-1])) / max(level.value, 1e-9)
        for pest, level in enumerate(case.levels)
    ]
    return max(ratios)


def has_learned(found: Outlook) -> bool:
    """Return whether three own walks came after a release: until then published rates are a floor."""
    first = min((release.day for release in found.case.let_go.releases), default=None)
    if first is None:
        return False
    return sum(walk.day > first for walk in found.case.walks) >= WALKS_TO_LEARN
