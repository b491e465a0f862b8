"""The compiled kernel against the slow one that is written straight from the equations."""

from __future__ import annotations

import numpy as np
import pytest
from tests.simulation.houses import beginning, house, plain, steady, swinging
from tests.simulation.reference_kernel import Member

from outpace.simulation.model import Release, Spray
from outpace.simulation.run import luck_of_day, run

CASES = {
    "one aphid, one wasp": {"model": house(), "heat": swinging(19, 16)},
    "cold, then hot": {
        "model": house(),
        "heat": np.concatenate([steady(6, 4), swinging(31, 6, swing=4.0), steady(18, 4)]),
    },
    "two aphids, three wasps, two zones": {
        "model": house(
            ("myzus_persicae", "aulacorthum_solani"),
            ("aphidius_colemani", "aphidius_ervi", "aphelinus_abdominalis"),
            zones=((300.0, 700.0), (100.0, 250.0)),
        ),
        "heat": swinging(21, 12),
    },
    "no wasp": {"model": house(enemies=()), "heat": swinging(22, 8)},
    "short and cold days": {
        "model": house(
            ("macrosiphum_euphorbiae",), ("aphidius_ervi",), crop="tomato", latitude=55.0, day_of_year=320
        ),
        "heat": np.concatenate([swinging(17, 8), swinging(9.5, 20)]),
    },
    "two aphids, wasp, midge and lacewing, two zones, short days": {
        "model": house(
            ("myzus_persicae", "aphis_gossypii"),
            ("aphidius_colemani",),
            zones=((300.0, 700.0), (100.0, 250.0)),
            predators=("aphidoletes_aphidimyza", "chrysoperla_carnea"),
            latitude=45.0,
            day_of_year=250,
        ),
        "heat": swinging(23, 20),
    },
    "two wasps, two hyperparasitoids, midge and ladybird, two zones": {
        "model": house(
            ("myzus_persicae", "aulacorthum_solani"),
            ("aphidius_colemani", "aphidius_ervi"),
            zones=((300.0, 700.0), (100.0, 250.0)),
            predators=("aphidoletes_aphidimyza", "adalia_bipunctata"),
            hyperparasitoids=("dendrocerus", "asaphes"),
        ),
        "per_plant": 0.1,
        "heat": swinging(23, 24),
    },
}


def releases_of(model):
    if not model.enemies:
        return []
    last = len(model.enemies) - 1
    of_predators = [
        Release(day=0.2, enemy=last + 1 + d, zone=d % len(model.zones), number=900, form=form)
        for d, form in enumerate(("pupae", "larvae")[: len(model.predators)])
    ]
    of_hypers = [
        Release(day=8.4 + h, enemy=len(model.agents) + h, zone=h % 2, number=60.0, form="adults")
        for h in range(len(model.hyperparasitoids))
    ]
    return [
        *of_predators,
        *of_hypers,
        Release(day=1.4, enemy=0, zone=0, number=800, form="mummies"),
        Release(day=2.0, enemy=last, zone=len(model.zones) - 1, number=300, form="adults", emergence=0.9),
        Release(day=5.7, enemy=0, zone=0, number=400, form="adults", share_female=0.5),
    ]


SPRAYS = [
    Spray(day=6.3, zone=0, kill_pest=0.4, kill_enemy=0.6, residual_enemy=0.3, residual_d=4.0),
    Spray(day=7.0, kill_pest=0.1, kill_enemy=0.0, residual_enemy=0.1, residual_d=2.0, kill_mummies=0.2),
    Spray(day=11.6, zone=0, kill_enemy=0.3, kill_mummies=0.1),
]


def reference_days(model, parameters, state, heat, days, releases, sprays, seed, steps, member):
    reference = Member(model, parameters, state, member)
    live = []
    for day in range(days):
        live.append([[reference.live(p, z) for z in reference.zones] for p in reference.pests])
        events = []
        for spray in sprays:
            for z in reference.zones if spray.zone is None else (spray.zone,):
                if int(spray.day) == day:
                    amounts = (
                        spray.kill_pest, spray.kill_enemy, spray.residual_enemy, spray.residual_d,
                        spray.kill_mummies,
                    )  # fmt: skip
                    events.append((int((spray.day - day) * steps), "spray", 0, z, amounts))
        for release in releases:
            if int(release.day) == day:
                out = 1.0 if release.enemy >= len(model.agents) else release.emergence
                if out is None:
                    out = reference.enemy("lot_emergence", release.enemy)
                female = release.share_female
                if release.form == "larvae" or release.enemy >= len(model.agents):
                    female = 1.0
                if female is None:
                    female = reference.enemy("lot_share_female", release.enemy)
                number = release.number * out * female
                events.append(
                    (int((release.day - day) * steps), release.form, release.enemy, release.zone, number)
                )
        draws = luck_of_day(seed, day, len(model.pests), parameters.members)[:, member]
        reference.day(heat[24 * day : 24 * (day + 1), 0], draws, events, steps, day)
    live.append([[reference.live(p, z) for z in reference.zones] for p in reference.pests])
    return np.array(live), reference.state()


@pytest.mark.parametrize("steps", [8, 24])
@pytest.mark.parametrize("name", CASES)
def test_the_compiled_kernel_equals_the_slow_one(name, steps):
    model, heat = CASES[name]["model"], CASES[name]["heat"]
    days, members = len(heat) // 24, 3
    parameters = plain(model, members, seed=7, spread=True)
    state = beginning(model, parameters, CASES[name].get("per_plant", 20.0), seed=3, calm=False)
    releases = releases_of(model)
    result = run(
        model, parameters, state, heat, first_day=0, days=days, releases=releases, sprays=SPRAYS, seed=11,
        steps_per_day=steps,
    )  # fmt: skip
    for member in range(members if steps == 8 else 1):
        live, after = reference_days(
            model, parameters, state, heat, days, releases, SPRAYS, 11, steps, member
        )
        np.testing.assert_allclose(result.aphids[..., member], live, rtol=1e-9)
        np.testing.assert_allclose(result.state[:, member], after, rtol=1e-9, atol=1e-12)
    if model.predators and not model.hyperparasitoids:
        for kind in ("eggs", "larvae", "pupae", "adults"):
            assert result.predators[kind][:, 0].max() > 1
        assert result.predator_ledger["rested"].max() > 1
        assert result.enemy_ledger["mummies_eaten"].max() > 1e-3
    if name == "short and cold days":
        assert result.enemy_ledger["rested"].min() > 1
    if model.hyperparasitoids:
        assert result.ragged[-1].sum() > 1e-2
        assert (result.hyper_ledger["emerged"].sum(axis=(1, 2)) > 1e-3).all()
        assert result.enemy_ledger["hyper_eaten"].max() > 1e-9
    if model.enemies:
        assert result.mummies_closed[-1].sum() > 0
