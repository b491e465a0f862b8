"""Changing course in one house: wait, by hand, enrich, treat spots, spray, remove; what each costs and brings."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import numpy as np

from outpace.errors import ExitCode, OutpaceError
from outpace.facts.table import Fact, Facts, weakest
from outpace.language import say
from outpace.planning.course import paying
from outpace.season.considered import NOTHING_TOLD, Figures, destroyed_words, destroys, waits
from outpace.season.course_steps import (
    Ground,
    Step,
    by_hand,
    by_hand_and_enriched,
    enriched,
    removed,
    sprayed,
    sprayed_then_released,
    treated_spots,
    wait,
)
from outpace.season.course_words import (
    BANDS_TO_D,
    NAMES,
    TODAY,
    break_even_words,
    cautions_of,
    chance_of,
    sentence_of,
)
from outpace.season.names import pick_farm, pick_house
from outpace.season.offers import candidates, offers_for, packs_in_force, use_of
from outpace.season.outlook import Outlook, for_planning, outlook
from outpace.season.studied import house_cautions
from outpace.season.words import weekday
from outpace.season.worth import Worth, worth_of
from outpace.terms.tables import Snapshot

Answer = dict[str, Any]

HORIZON_D = 28
STANDARD_ERRORS = 2.0
"""Costs nearer than this many standard errors of their difference are a tie."""


def course(
    snapshot: Snapshot,
    house: str,
    *,
    farm: str | None = None,
    facts: Facts | None = None,
    spray: Figures = NOTHING_TOLD,
    spots: Figures = NOTHING_TOLD,
    plants: int | None = None,
    clearing: float | None = None,
    value: float | None = None,
    loss: float | None = None,
) -> Answer:
    """Return the courses open to a house as the answer ``outpace.course/1``.

    Parameters
    ----------
    spray, spots : Figures
        What is known of a spray of the whole house, and of a treatment of spots; what is missing acts as danger.
    plants : int, optional
        Plants that are worked on by hand, or treated as spots.
    clearing : float, optional
        What clearing the crop costs. [farm's money]
    value, loss : float, optional
        What a m² of crop will bring, and what a m² loses in a day for each aphid above the level; as the farm keeps
        them where not given. [farm's money]

    Raises
    ------
    OutpaceError
        If a figure is below 0, or a share above 1.
    """
    _check(spray, spots, {"--clearing": clearing, "--value": value, "--loss": loss})
    there = pick_farm(snapshot, farm)
    place = pick_house(snapshot, there, house)
    found = outlook(snapshot, there, place, facts=facts)
    case = found.case
    kept = worth_of(snapshot, there, place.crop, facts)
    worth = Worth(kept.value if value is None else value, kept.loss if loss is None else loss)
    answer: Answer = {
        "schema": "outpace.course/1",
        "as_of": case.now.isoformat(timespec="seconds"),
        "farm": there.farm,
        "house": place.house,
        "currency": there.currency,
        "data_age_d": found.age_d,
        "scenario": None,
        "horizon_d": HORIZON_D,
        "until": str(case.day + timedelta(days=HORIZON_D)),
        "bands_until": str(case.day + timedelta(days=BANDS_TO_D)),
        "levels": [
            {"pest": pest, "unit": level.unit, "level": level.value}
            for pest, level in zip(case.model.pests, case.levels, strict=True)
        ],
        "worth": {"value_per_m2": worth.value, "loss_per_unit_m2_d": worth.loss},
        "courses": [],
        "best": None,
        "ties": [],
        "today": [say(line) for line in TODAY],
        "evidence_weakest": "practice",
        "facts": [],
        "cautions": [],
    }
    if case.rows.last is None:
        answer["sentence"] = say(
            "Walk {house} on {day}: 20 plants, then courses can be weighed.",
            house=place.house,
            day=weekday(case.day),
        )
        return answer
    if found.stale:
        answer["scenario"] = say(
            "scenario, not from your counts: the last walk is {age} days old", age=found.age_d
        )
    ground = Ground(
        case=case,
        house=for_planning(found, HORIZON_D),
        levels=tuple(level.value for level in case.levels),
        risk=there.risk if there.risk is not None else case.facts.one("", "accepted_risk").value,
        loss_per_unit_day=None if worth.loss is None else worth.loss * case.model.area_m2,
        crop_worth=None if worth.value is None else worth.value * case.model.area_m2,
    )
    packs = packs_in_force(snapshot, case.day)
    ranked = candidates(case, packs)
    offers, used = offers_for(
        case,
        packs,
        ranked,
        use=use_of(case, _over_level(found)),
        floor=False,
        members=ground.house.members,
    )
    hands = by_hand(ground, plants)
    steps = [
        wait(ground),
        hands,
        enriched(ground, offers),
        by_hand_and_enriched(ground, hands, offers),
        treated_spots(ground, spots, plants),
        sprayed(ground, spray),
        sprayed_then_released(ground, spray, offers),
        removed(ground, worth.value, clearing),
    ]
    rows = [_row(ground, step, steps[0], packs) for step in steps]
    answer["courses"] = rows
    best, ties = _best(ground, steps)
    answer["best"], answer["ties"] = best.key, [step.key for step in ties]
    every = list(dict.fromkeys([*ground.used, *used, *found.posterior.facts]))
    answer["evidence_weakest"] = weakest(every)
    answer["facts"] = [_fact(row) for row in every]
    answer["cautions"] = [
        *cautions_of(found, worth, steps, _better_but_unread(ground, steps, best)),
        *house_cautions(case, HORIZON_D, [item.enemy for item in ranked if item.fits]),
    ]
    answer["sentence"] = sentence_of(ground, best, ties)
    return answer


def _over_level(found: Outlook) -> float:
    past, case = found.posterior.past, found.case
    return max(
        float(np.median(past.live(pest, unit=level.unit)[-1])) / max(level.value, 1e-9)
        for pest, level in enumerate(case.levels)
    )


def _row(ground: Ground, step: Step, waiting: Step, packs: Any) -> Answer:
    case = ground.case
    row: Answer = {
        "course": step.key,
        "name": say(NAMES[step.key]),
        "possible": step.fared is not None,
        "why_not": None if step.why_not is None else say(step.why_not),
        "money": _rounded(step.money),
        "parts": {
            "packs": round(step.packs, 2),
            "freight": round(step.freight, 2),
            "labour": _rounded(step.labour),
            "treatment_or_crop": _rounded(step.product),
        },
        "minutes": round(step.minutes),
        "unpriced": [say(name) for name in step.unpriced],
        "buys": [
            {
                "enemy": offer.pack.enemy,
                "supplier": offer.pack.supplier,
                "packs": count,
                "pack_size": offer.pack.pack_size,
                "form": offer.pack.form,
                "cutoff": offer.cutoff.isoformat(timespec="minutes"),
                "delivery_date": str(offer.delivery),
            }
            for offer, count in step.bought
        ],
        "plants": step.plants,
        "chance_ever_above": None,
        "ends_well": None,
        "unit_days": None,
        "loss": None,
        "expected_cost": None,
        "against_waiting": None,
        "not_entered": [] if step.spray is None else step.spray.figures.lacks,
        "waits": None if step.spray is None else waits(step.spray, case),
        "destroys": None,
    }
    if step.fared is None or waiting.fared is None:
        return row
    fared = step.fared
    low, high = (float(v) for v in np.quantile(fared.unit_days, (0.05, 0.95)))
    row["chance_ever_above"] = round(fared.chance_ever_above, 3)
    row["ends_well"] = round(float(fared.ends_well.mean()), 3)
    row["unit_days"] = {
        "mean": round(float(fared.unit_days.mean()), 2),
        "q05": round(low, 2),
        "q95": round(high, 2),
    }
    row["loss"] = _rounded(ground.expected_loss(fared))
    row["expected_cost"] = _rounded(expected_cost(ground, step))
    if step.key != "wait":
        row["against_waiting"] = _against(ground, step, waiting)
    if step.spray is not None:
        told = destroys(
            step.spray, case, ground.house, packs, enemies_met=step.met[1], mummies_met=step.met[0]
        )
        if step.plants is not None:
            told["on_the_way"] = []  # what comes is let go away from the treated plants
        row["destroys"] = {**told, "words": destroyed_words(told, case)}
    return row


def expected_cost(ground: Ground, step: Step) -> float | None:
    """Return money and expected loss together; None where either is not known."""
    loss = None if step.fared is None else ground.expected_loss(step.fared)
    return None if loss is None or step.money is None else loss + step.money


def _against(ground: Ground, step: Step, waiting: Step) -> Answer:
    """Return what a course spares against waiting, and from which loss, or up to which price, it pays."""
    assert step.fared is not None
    assert waiting.fared is not None
    area = ground.case.model.area_m2
    found = paying(step.fared, waiting.fared, step.money)
    per_m2 = None if found.break_even_loss is None else found.break_even_loss / area
    spared = ground.expected_loss(waiting.fared), ground.expected_loss(step.fared)
    most = None if spared[0] is None or spared[1] is None else max(spared[0] - spared[1], 0.0)
    return {
        "unit_days_spared": round(found.saved, 2),
        "q05": round(found.saved_low, 2),
        "q95": round(found.saved_high, 2),
        "break_even_loss_per_unit_m2_d": None if per_m2 is None else float(f"{per_m2:.3g}"),
        "break_even_price": _rounded(most),
        "words": break_even_words(ground, step, found.saved, per_m2, most),
    }


def _best(ground: Ground, steps: Sequence[Step]) -> tuple[Step, list[Step]]:
    """Return the course to take and those that cannot be told from it; of equals the one that does least.

    With the farm's own loss: the least expected cost. Without it: the least money among those within the accepted risk;
    where none is, the least aphid-days above the level; removing the crop is then never chosen. A treatment of which
    the label was not entered in full is never chosen.
    """
    open_ = [step for step in steps if step.fared is not None and not _unread(step)]
    costed = [(cost, step) for step in open_ if (cost := expected_cost(ground, step)) is not None]
    if costed:
        least, cheapest = min(costed, key=lambda item: item[0])
        near = [step for cost, step in costed if cost - least <= _margin(ground, step, cheapest)]
    else:
        priced = [step for step in open_ if step.key != "remove" and step.money is not None]
        held = [step for step in priced if chance_of(step) <= ground.risk]
        if held:
            near = [min(held, key=lambda step: step.money or 0.0)]
        else:
            fewest = min(priced, key=_mean_days)
            near = [step for step in priced if _mean_days(step) - _mean_days(fewest) <= _luck(step, fewest)]
    return near[0], near[1:]


def _unread(step: Step) -> bool:
    return step.spray is not None and bool(step.spray.figures.lacks)


def _better_but_unread(ground: Ground, steps: Sequence[Step], best: Step) -> list[Step]:
    """Return the treatments that would be chosen, had their label been entered."""
    found = []
    for step in steps:
        if step.fared is None or not _unread(step):
            continue
        costs = expected_cost(ground, step), expected_cost(ground, best)
        if costs[0] is not None and costs[1] is not None:
            if costs[0] < costs[1]:
                found.append(step)
        elif chance_of(step) <= ground.risk < chance_of(best) or _mean_days(step) < 0.5 * _mean_days(best):
            found.append(step)
    return found


def _mean_days(step: Step) -> float:
    return float("inf") if step.fared is None else float(step.fared.unit_days.mean())


def _luck(one: Step, other: Step) -> float:
    """Return how far two means of aphid-days may lie apart by the luck of the draws alone."""
    assert one.fared is not None
    assert other.fared is not None
    apart = one.fared.unit_days - other.fared.unit_days
    return float(STANDARD_ERRORS * apart.std() / np.sqrt(apart.size))


def _margin(ground: Ground, one: Step, other: Step) -> float:
    """Return how far two expected costs may lie apart by the luck of the draws alone."""
    assert one.fared is not None
    assert other.fared is not None
    losses = ground.losses(one.fared), ground.losses(other.fared)
    if one is other or losses[0] is None or losses[1] is None:
        return 0.0
    apart = losses[0] - losses[1]
    return float(STANDARD_ERRORS * apart.std() / np.sqrt(apart.size))


def _check(spray: Figures, spots: Figures, money: dict[str, float | None]) -> None:
    shares = ("kill_pest_share", "kill_enemy_share", "residual_enemy_share")
    for figures in (spray, spots):
        for name in figures.__dataclass_fields__:
            given = getattr(figures, name)
            if given is not None and (given < 0 or (name in shares and given > 1)):
                allowed = say("a share is from 0 to 1") if name in shares else say("must be 0 or above")
                raise OutpaceError(
                    f"{name.replace('_', ' ')} {given:g}", allowed=allowed, code=ExitCode.USAGE
                )
    for option, given in money.items():
        if given is not None and not given >= 0:
            raise OutpaceError(
                f"{given:g}", where=f"`{option}`", allowed=say("must be 0 or above"), code=ExitCode.USAGE
            )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _fact(row: Fact) -> Answer:
    return {
        "key": row.key,
        "value": row.value,
        "unit": row.unit,
        "source": row.cited,
        "evidence": row.evidence,
    }
