"""Attack, refuge and interference against the textbook models and published searching."""

from __future__ import annotations

import numpy as np
import pytest

from outpace.biology.attack import (
    daily_hazard,
    equilibrium,
    escape,
    interference_exponent,
    next_generation,
    stability,
)


def test_equilibrium_of_nicholson_and_bailey() -> None:
    # Source: H* = λ ln λ / ((λ - 1) a c), P* = ln λ / a (read); figures for λ 2, a .1, c 1 derived.
    hosts, parasitoids = equilibrium(2.0, 0.1)
    assert hosts == pytest.approx(13.862944, abs=5e-7)
    assert parasitoids == pytest.approx(6.931472, abs=5e-7)
    assert stability(2.0) == pytest.approx(1.177410, abs=5e-7)


@pytest.mark.parametrize(
    ("k", "hosts", "parasitoids", "size"),
    [
        (0.5, 30.0, 15.0, 0.866025),
        (1.0, 20.0, 10.0, 1.0),
        (2.0, 16.568542, 8.284271, 1.082392),
    ],
)
def test_equilibrium_of_may(k: float, hosts: float, parasitoids: float, size: float) -> None:
    # Source: May 1978, P* = k (λ^(1/k) - 1) / a, H* = P* λ / (λ - 1), stable if and only if k < 1 (recalled);
    # figures for λ 2, a .1 derived.
    assert equilibrium(2.0, 0.1, k) == pytest.approx((hosts, parasitoids), abs=5e-7)
    assert stability(2.0, k) == pytest.approx(size, abs=5e-7)


@pytest.mark.parametrize("growth", [1.2, 2.0, 5.0, 40.0])
def test_the_edge_of_stability_is_at_k_1_whatever_the_growth(growth: float) -> None:
    # Source: May 1978 (recalled).
    assert stability(growth, 0.98) < 1.0
    assert stability(growth, 1.0) == pytest.approx(1.0, abs=1e-9)
    assert stability(growth, 1.02) > 1.0


@pytest.mark.parametrize("k", [0.5, 0.8, 1.5, np.inf])
def test_eigenvalues_are_those_of_the_map_itself(k: float) -> None:
    # Source: central differences on one generation, no algebra in common with the Jacobian. Evidence: derived.
    at = np.array(equilibrium(1.8, 0.07, k, clutch=1.4))
    jacobian = np.empty((2, 2))
    for column in range(2):
        step = np.zeros(2)
        step[column] = at[column] * 1e-6
        ahead = np.array(next_generation(*(at + step), 1.8, 0.07, k, clutch=1.4))
        behind = np.array(next_generation(*(at - step), 1.8, 0.07, k, clutch=1.4))
        jacobian[:, column] = (ahead - behind) / (2 * step[column])
    assert stability(1.8, k) == pytest.approx(np.abs(np.linalg.eigvals(jacobian)).max(), rel=1e-7)


def test_small_refuge_settles_and_random_attack_swings_ever_wider() -> None:
    # Source: May 1978; Nicholson and Bailey 1935 (recalled).
    deviations = {}
    for k in (0.5, np.inf):
        rest = equilibrium(2.0, 0.1, k)
        state = (rest[0] * 1.01, rest[1])
        seen = []
        for _ in range(40):
            state = next_generation(*state, growth=2.0, attack_rate=0.1, k=k)
            seen.append(abs(np.log(state[0] / rest[0])))
        deviations[k] = seen
    assert max(deviations[0.5][-5:]) < 1e-4
    assert max(deviations[np.inf][-5:]) > 0.5


@pytest.mark.parametrize("steps", [1, 4, 24, 48])
@pytest.mark.parametrize("k", [0.2, 0.35, 1.0, 20.0])
@pytest.mark.parametrize("attacks", [0.01, 0.5, 2.0, 12.0])
def test_the_daily_refuge_lets_the_same_share_escape_at_any_number_of_steps(
    attacks: float, k: float, steps: int
) -> None:
    # Source: (1 + m / k)^-k, May 1978 (recalled), written out here; tolerance asked for is 1e-6.
    share = 1.0
    for _ in range(steps):
        share *= float(np.exp(-daily_hazard(attacks, k) / steps))
    assert share == pytest.approx((1 + attacks / k) ** -k, abs=1e-12)
    assert escape(attacks, k) == pytest.approx((1 + attacks / k) ** -k, abs=1e-12)


def test_a_refuge_applied_step_by_step_would_not_hold() -> None:
    # Source: the trap the hazard avoids; derived. Twice half a day leaves fewer hosts than one day.
    assert escape(1.0, 0.35) - 0.05 > (1 + 0.5 / 0.35) ** (-2 * 0.35)


@pytest.mark.parametrize(
    ("searching", "females", "exponent"),
    [([0.272, 0.139], [1, 5], 0.42), ([1.173, 0.205], [1, 8], 0.84)],
)
def test_interference_of_two_aphid_parasitoids(
    searching: list[float], females: list[float], exponent: float
) -> None:
    # Source: searching of Aphidius matricariae and Diaeretiella rapae by number of females (abstracts, read);
    # exponent derived.
    assert interference_exponent(searching, females) == pytest.approx(exponent, abs=0.005)
