"""The model against an engine by other authors: the fourteen equations, and the kernel in its continuous limit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.oracles.second_engine import solved
from tests.simulation.houses import UNBOUNDED, beginning, house, plain, steady

from outpace.biology.life_table import growth_with_delay
from outpace.simulation.run import run

# Source: a textbook host and parasitoid with six substages each, figures chosen for the comparison: nymphs pass in 7 d,
# mummies in 12 d, 3 young a day, adults lost at .08, wasps at .15, attack .002 on nymphs, half the young female.
NYMPH, MUMMY, BIRTHS, DEATH, ATTACK, WASP_DEATH = 6 / 7, 6 / 12, 3.0, 0.08, 0.002, 0.15


def fourteen_equations() -> dict[str, list[tuple[float, tuple[str, ...]]]]:
    rates: dict[str, list[tuple[float, tuple[str, ...]]]] = {}
    for i in range(6):
        inflow = (BIRTHS, ("A",)) if i == 0 else (NYMPH, (f"N{i - 1}",))
        rates[f"N{i}"] = [inflow, (-NYMPH, (f"N{i}",)), (-ATTACK, ("P", f"N{i}"))]
    rates["A"] = [(NYMPH, ("N5",)), (-DEATH, ("A",))]
    rates["M0"] = [*((ATTACK, ("P", f"N{i}")) for i in range(6)), (-MUMMY, ("M0",))]
    for i in range(1, 6):
        rates[f"M{i}"] = [(MUMMY, (f"M{i - 1}",)), (-MUMMY, (f"M{i}",))]
    rates["P"] = [(0.5 * MUMMY, ("M5",)), (-WASP_DEATH, ("P",))]
    return rates


def slopes(rates, names):
    """The right-hand side as a function for scipy, from the same terms."""

    def of(_, values):
        now = dict(zip(names, values, strict=True))
        return [sum(c * math.prod(now[q] for q in on) for c, on in rates[name]) for name in names]

    return of


def test_the_fourteen_equations_by_two_engines() -> None:
    # Source: four solvers of scipy, libRoadRunner, COPASI and diffrax agree to 4e-8 after 40 days: 10730.8705 adults
    # and 75989.6980 wasps. Evidence: derived.
    rates = fourteen_equations()
    assert len(rates) == 14
    begin = {"A": 10.0, "P": 20.0}
    theirs = solved(rates, begin, 40.0)
    names = list(rates)
    ours = solve_ivp(
        slopes(rates, names),
        (0, 40),
        [begin.get(n, 0.0) for n in names],
        method="DOP853",
        rtol=1e-11,
        atol=1e-11,
    ).y[:, -1]
    assert [theirs[name] for name in names] == pytest.approx(ours, rel=1e-6)
    assert theirs["A"] == pytest.approx(10730.870474, rel=1e-6)
    assert theirs["P"] == pytest.approx(75989.698031, rel=1e-6)


def test_the_chain_of_twenty_grows_in_the_second_engine_as_its_closed_form() -> None:
    # Source: b / (r + mu) (1 + r m / K)^-K = 1 with b 4, mu .1, m 7, K 20: r .3351515040. Evidence: derived.
    passing = 20 / 7
    rates = {f"N{i}": [(passing, (f"N{i - 1}",)), (-passing, (f"N{i}",))] for i in range(1, 20)}
    rates["N0"] = [(4.0, ("A",)), (-passing, ("N0",))]
    rates["A"] = [(passing, ("N19",)), (-0.1, ("A",))]
    late, later = (solved(rates, {"A": 1e-9}, day)["A"] for day in (180.0, 190.0))
    assert np.log(later / late) / 10 == pytest.approx(0.3351515040, abs=1e-8)
    assert growth_with_delay(4.0, 0.1, 7.0, stages=20) == pytest.approx(0.3351515040, abs=5e-11)


DEGC, DAYS = 20.0, 10


def constant_house():
    """A house at 20 °C with aphids of all ages, stung ones and mummies; no wasp searches and nothing crowds."""
    model = house()
    parameters = plain(model, **UNBOUNDED)
    for name, value in (("share_female", 0.0), ("mummy_fall", 0.0)):
        parameters = parameters.set(name, value, enemy=0)
    state = beginning(model, parameters, 1.0)
    rng = np.random.default_rng(5)
    layout = parameters.layout(model)
    for block in layout.blocks:
        if block.name.startswith("stung") or block.name == "mummies":
            state[block.rows, 0] = rng.uniform(0.0, 40.0, block.count)
        if block.name == "winged_share":
            state[block.rows, 0] = 0.0
    return model, parameters, layout, state


def flows(model, parameters, layout, state):
    """Return the linear equations of that house, written out from its parameters, and its start."""
    names, begin, chains = {}, {}, {}
    for block in layout.blocks:
        chains[block.name] = [f"{block.name}_{i}" for i in range(block.count)]
        for i, name in enumerate(chains[block.name]):
            names[name], begin[name] = [], float(state[block.first + i, 0])
    shared, get = parameters.shared, lambda name, **at: float(parameters.get(name, **at)[0])
    at = {"pest": {"pest": 0}, "enemy": {"enemy": 0}}
    grid = np.arange(-20.0, 60.01, 0.25)
    death, ageing, births, _ = (np.interp(DEGC, grid, row) for row in shared.pest_tables[0])
    in_stung, in_mummy, *_ = (np.interp(DEGC, grid, row) for row in shared.enemy_tables[0])
    pace = {
        who: (DEGC - get("lower_threshold", **where)) / get("thermal_constant", **where)
        for who, where in at.items()
    }
    newborn: list[tuple[float, str]] = []

    def chain(name, time, into=None, survive=1.0, lost=None):
        rows = chains[name]
        speed = len(rows) / time
        for i, row in enumerate(rows):
            names[row].append((-speed, (row,)))
            target = rows[i + 1] if i + 1 < len(rows) else into
            if target:
                names[target].append((survive * speed, (row,)))
            if lost:
                names[lost].append(((1.0 - survive) * speed, (row,)))
        return [(speed, row) for row in rows]

    alive = 1.0 - death * get("mortality", pest=0)
    stages = ("N1", "N2", "N3", "N4", "young_adults")
    for i, stage in enumerate(stages[:4]):
        chain(stage, shared.instar_share[0, i] / pace["pest"], chains[stages[i + 1]][0], alive)
    chain("young_adults", get("pre_reproductive", pest=0) / pace["pest"], chains["wingless"][0])
    passing = chain("wingless", get("life", pest=0) / ageing)
    lifetime = (
        births
        * get("fecundity", pest=0)
        * np.exp(get("growth_leverage", pest=0) * np.expm1(get("log_growth", pest=0)))
    )
    newborn += [
        (lifetime * shared.wingless_shape[0, i] * speed, row) for i, (speed, row) in enumerate(passing)
    ]
    share = get("mummy_share", enemy=0)
    for size, name in enumerate(("stung_N1_to_N3", "stung_N4", "stung_adult")):
        left = chain(
            name, share * get("slowness", pair=0) / pace["enemy"], chains["mummies"][0],
            1.0 - in_stung * get("immature_death", enemy=0),
        )  # fmt: skip
        bearing = max(1, len(left) // 3)
        newborn += [(shared.stung_births[0, size] * speed / bearing, row) for speed, row in left[:bearing]]
    chain(
        "mummies", (1.0 - share) / pace["enemy"], chains["shells"][0],
        1.0 - in_mummy * get("immature_death", enemy=0), lost=chains["dead_mummies"][0],
    )  # fmt: skip
    names[chains["N1"][0]] += [(rate, (row,)) for rate, row in newborn]
    return names, begin, chains


def test_the_kernel_meets_the_second_engine_in_its_continuous_limit() -> None:
    # Source: COPASI on the equations above; the kernel is carried to ever finer steps by Richardson's rule, its error
    # falling with the square of the step. Evidence: derived.
    model, parameters, layout, state = constant_house()
    rates, begin, chains = flows(model, parameters, layout, state)
    theirs = solved(rates, begin, float(DAYS))
    end = {
        steps: run(
            model,
            parameters,
            state,
            steady(DEGC, DAYS),
            first_day=0,
            days=DAYS,
            noise=False,
            steps_per_day=steps,
        ).state[:, 0]
        for steps in (24, 48, 96)
    }
    first = {fine: end[fine] + (end[fine] - end[fine // 2]) / 3.0 for fine in (48, 96)}
    limit = first[96] + (first[96] - first[48]) / 15.0
    watched = ("N1", "N2", "N3", "N4", "wingless", "stung_adult", "mummies", "shells", "dead_mummies")
    for name in watched:
        rows = next(block.rows for block in layout.blocks if block.name == name)
        there = sum(theirs[each] for each in chains[name])
        assert limit[rows].sum() == pytest.approx(there, rel=1e-6), name
        assert end[24][rows].sum() == pytest.approx(there, rel=2e-3), name
