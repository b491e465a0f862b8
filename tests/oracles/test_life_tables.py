"""Growth rates against published life tables and matrices, and against eigenvalues of the chain itself."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.stats import gamma

from outpace.biology.growth import doubling_time, rate_from_early_births, time_gained
from outpace.biology.life_table import (
    generation_time,
    growth_of_gamma_stages,
    growth_with_delay,
    intrinsic_rate,
    net_reproduction,
    structure_of_gamma_stages,
)
from outpace.biology.stage_matrix import cycle_length, matrix_growth

# Source: Birch 1948, Calandra oryzae at 29 °C, ages in weeks. Evidence: recalled; the table gives the printed r.
BIRCH_AGE = np.arange(4.5, 19.0)
BIRCH_ALIVE = [0.87, 0.83, 0.81, 0.80, 0.79, 0.77, 0.74, 0.66, 0.59, 0.52, 0.45, 0.36, 0.29, 0.25, 0.19]
BIRCH_BORN = [20, 23, 15, 12.5, 12.5, 14, 12.5, 14.5, 11, 9.5, 2.5, 2.5, 2.5, 4, 1]


def test_growth_of_the_rice_weevil() -> None:
    # Source: Birch 1948 prints r .76; six digits recomputed from the recalled table. Evidence: recalled.
    rate = intrinsic_rate(BIRCH_AGE, BIRCH_ALIVE, BIRCH_BORN)
    assert net_reproduction(BIRCH_ALIVE, BIRCH_BORN) == pytest.approx(113.485)
    assert rate == pytest.approx(0.761984, abs=5e-7)
    assert generation_time(BIRCH_AGE, BIRCH_ALIVE, BIRCH_BORN) == pytest.approx(6.2097, abs=5e-5)
    assert np.exp(rate) == pytest.approx(2.14252, abs=5e-6)


def test_trial_values_of_the_rice_weevil_bracket_the_rate() -> None:
    # Source: Birch 1948, trial sums of exp(7 - r x) l m at r .76, .762, .77: 1107.99, 1096.54, 1051.95 against
    # e⁷ = 1096.63. Evidence: recalled.
    weights = np.array(BIRCH_ALIVE) * np.array(BIRCH_BORN)
    sums = [float((np.exp(7 - rate * BIRCH_AGE) * weights).sum()) for rate in (0.76, 0.762, 0.77)]
    assert sums == pytest.approx([1107.99, 1096.54, 1051.95], abs=0.005)
    rate = intrinsic_rate(BIRCH_AGE, BIRCH_ALIVE, BIRCH_BORN)
    assert (np.exp(7 - rate * BIRCH_AGE) * weights).sum() == pytest.approx(np.exp(7), rel=1e-12)


def test_growth_of_killer_whales() -> None:
    # Source: the published killer-whale stage matrix (yearling, juvenile, mature, post-reproductive); entries
    # recalled, its growth factor 1.025441 read.
    whales = [
        [0.0, 0.0043, 0.1132, 0.0],
        [0.9775, 0.9111, 0.0, 0.0],
        [0.0, 0.0736, 0.9534, 0.0],
        [0.0, 0.0, 0.0452, 0.9804],
    ]
    assert matrix_growth(whales) == pytest.approx(1.025441, abs=5e-7)
    assert cycle_length(whales) == 1


def test_a_matrix_that_cycles_for_ever_still_has_its_growth_factor() -> None:
    # Source: the textbook's imprimitive matrix (read); its factor is the cube root of .36. Evidence: derived.
    matrix = [[0.0, 0.0, 2.0], [0.3, 0.0, 0.0], [0.0, 0.6, 0.0]]
    assert matrix_growth(matrix) == pytest.approx(0.36 ** (1 / 3), rel=1e-12)
    assert matrix_growth(matrix) == pytest.approx(0.711379, abs=5e-7)
    assert cycle_length(matrix) == 3


# Source: Meisner et al. 2014, pea aphid at 20 °C: births and daily survival by adult day. Evidence: read.
LOW_BIRTHS = [
    0,
    2.59,
    4.43,
    5.14,
    5.52,
    5.66,
    5.60,
    5.46,
    5.29,
    5.06,
    4.70,
    3.36,
    1.59,
    1.08,
    0.97,
    0.83,
    0.47,
]
LOW_BIRTHS += [0.07]
LOW_ALIVE = [
    1,
    0.995,
    0.982,
    0.953,
    0.881,
    0.837,
    0.853,
    0.879,
    0.882,
    0.875,
    0.864,
    0.839,
    0.812,
    0.810,
    0.824,
]
LOW_ALIVE += [0.833, 0.754, 0.586, 0.416, 0.222]
HIGH_BIRTHS = [
    0,
    3.1975,
    5.4563,
    6.2996,
    6.7372,
    6.9030,
    6.8210,
    6.6100,
    6.1962,
    5.1653,
    4.1837,
    3.6029,
    3.1023,
]
HIGH_BIRTHS += [2.4799, 1.6909, 1.1750, 1.0148, 0.9096, 0.7821, 0.6430]
HIGH_ALIVE = [
    1,
    0.9986,
    0.9951,
    0.9874,
    0.9675,
    0.9552,
    0.9550,
    0.9549,
    0.9462,
    0.8992,
    0.8571,
    0.8408,
    0.8281,
]
HIGH_ALIVE += [0.8062, 0.7699, 0.7500, 0.7559, 0.7649, 0.7240]


def daily_matrix(
    births: list[float], adult_alive: list[float], nymph_alive: float, nymph_days: int
) -> np.ndarray:
    """Return one class a day: nymphs first, then 20 adult days, births counted in the class of that day."""
    size = nymph_days + 20
    matrix = np.zeros((size, size))
    matrix[0, nymph_days : nymph_days + len(births)] = births
    alive = [nymph_alive] * nymph_days + adult_alive[:19]
    matrix[np.arange(1, size), np.arange(size - 1)] = alive[: size - 1]
    return matrix


@pytest.mark.parametrize(
    ("births", "alive", "nymphs", "days", "factor"),
    [
        (LOW_BIRTHS, LOW_ALIVE, 0.9745, 8, 1.2917),
        (HIGH_BIRTHS, HIGH_ALIVE, 0.9849, 8, 1.3315),
        (LOW_BIRTHS, LOW_ALIVE, 0.9745, 5, 1.4133),
        (HIGH_BIRTHS, HIGH_ALIVE, 0.9849, 5, 1.4645),
    ],
)
def test_growth_of_two_pea_aphid_clones(
    births: list[float], alive: list[float], nymphs: float, days: int, factor: float
) -> None:
    # Source: schedules of Meisner et al. 2014 (read); growth factors at 20 °C (8 nymph days) and 27 °C (5) derived.
    assert matrix_growth(daily_matrix(births, alive, nymphs, days)) == pytest.approx(factor, abs=5e-5)


def test_growth_through_a_delay_of_20_compartments() -> None:
    # Source: b / (r + μ) · (1 + r m / K)^-K = 1 with b 4, μ .1, m 7, K 20; equals the dominant eigenvalue. Derived.
    assert growth_with_delay(4.0, 0.1, 7.0, stages=20) == pytest.approx(0.3351515040, abs=5e-11)
    assert growth_with_delay(4.0, 0.1, 7.0) == pytest.approx(0.3214711779, abs=5e-11)


def test_growth_of_the_delay_equation() -> None:
    # Source: A' = b A(t - τ) - μ A with b 3, μ .08, τ 7; a delay-equation solver gives .2964937. Evidence: derived.
    assert growth_with_delay(3.0, 0.08, 7.0) == pytest.approx(0.2964947722, abs=5e-11)
    assert growth_with_delay(3.0, 0.08, 7.0) == pytest.approx(0.2964937, abs=2e-6)


MEANS, SHAPES = [2.2, 2.0, 2.1, 2.4, 0.8, 4.0, 5.0, 6.0], [20, 20, 21, 22, 4, 1, 2, 3]
BIRTHS, ALIVE = [0, 0, 0, 0, 0, 4.2, 3.0, 1.1], [0.95, 0.97, 0.98, 0.99, 1.0, 0.9, 0.8, 0.5]
LOST = [0.02, 0.01, 0.0, 0.0, 0.01, 0.03, 0.05, 0.08]


def chain_system() -> tuple[np.ndarray, np.ndarray]:
    """Return the linear system of all compartments and which stage each belongs to."""
    stage = np.repeat(np.arange(len(MEANS)), SHAPES)
    leave = np.array([SHAPES[i] / MEANS[i] for i in stage])
    passed = np.array([ALIVE[i] ** (1 / SHAPES[i]) for i in stage])
    system = np.diag(-leave - np.array([LOST[i] for i in stage]))
    system[np.arange(1, stage.size), np.arange(stage.size - 1)] += (passed * leave)[:-1]
    system[0] += np.array([BIRTHS[i] for i in stage])
    return system, stage


def test_growth_of_gamma_stages_is_the_eigenvalue_of_the_chain() -> None:
    # Source: dominant eigenvalue of the 93 compartments written out, by LAPACK. Evidence: derived.
    system, _ = chain_system()
    expected = float(np.linalg.eigvals(system).real.max())
    assert growth_of_gamma_stages(MEANS, SHAPES, BIRTHS, ALIVE, LOST) == pytest.approx(expected, rel=1e-9)


def test_structure_of_gamma_stages_is_the_eigenvector_of_the_chain() -> None:
    # Source: dominant eigenvector of the same system, by LAPACK. Evidence: derived.
    system, stage = chain_system()
    values, vectors = np.linalg.eig(system)
    vector = np.abs(vectors[:, int(np.argmax(values.real))].real)
    expected = np.bincount(stage, weights=vector / vector.sum())
    rate = growth_of_gamma_stages(MEANS, SHAPES, BIRTHS, ALIVE, LOST)
    assert structure_of_gamma_stages(rate, MEANS, SHAPES, ALIVE, LOST) == pytest.approx(expected, rel=1e-7)


def test_growth_of_gamma_stages_is_the_euler_lotka_root_by_quadrature() -> None:
    # Source: Euler-Lotka integral with gamma densities and survivor functions from scipy.stats, by quadrature;
    # a stage of no whole number of compartments, adults that live a gamma time and bear steadily. Evidence: derived.
    mature = gamma(a=17.3, scale=8.0 / 17.3)
    adult = gamma(a=3.6, scale=15.0 / 3.6)

    def balance(rate: float) -> float:
        grown = quad(lambda age: mature.pdf(age) * np.exp(-rate * age), 0, 60, epsabs=1e-13)[0]
        bearing = quad(
            lambda age: adult.sf(age) * 3.3 * np.exp(-rate * age), 0, 200, epsabs=1e-13, limit=200
        )[0]
        return 0.85 * grown * bearing - 1

    expected = brentq(balance, 0.05, 1.0, xtol=1e-13)
    found = growth_of_gamma_stages([8.0, 15.0], [17.3, 3.6], [0.0, 3.3], [0.85, 1.0])
    assert found == pytest.approx(expected, rel=1e-8)


def test_identities_of_a_published_wasp_life_table() -> None:
    # Source: Torres et al. 2007, abstract (read): R0 194.81, T 13.74 d, r .384, λ 1.47. Its "doubling time 12.60 d"
    # contradicts them: ln 2 / .384 is 1.81 d. Evidence: derived.
    rate = np.log(194.81) / 13.74
    assert rate == pytest.approx(0.3837, abs=2e-4)
    assert np.exp(rate) == pytest.approx(1.468, abs=5e-4)
    assert doubling_time(0.384) == pytest.approx(1.81, abs=0.005)


def test_kills_that_are_each_twice_as_good_as_the_next() -> None:
    # Source: an abstract (read) that calls kills of 99.6, 93.75, 75, 50 and 29 % so; times × r derived.
    gained = time_gained([0.996, 0.9375, 0.75, 0.5, 0.29], 1.0)
    assert gained == pytest.approx([5.5215, 2.7726, 1.3863, 0.6931, 0.3425], abs=5e-5)
    assert gained[:-1] / gained[1:] == pytest.approx([2.0, 2.0, 2.0, 2.0], rel=0.02)


def test_shortcut_from_early_births_is_near_the_life_table_it_shortens() -> None:
    # Source: Wyatt and White 1977: the shortcut takes the young of the first d days, d being the time to the first
    # young (recalled). Low clone of Meisner et al. 2014 (read): 9 days to the first young, nymph loss apart.
    alive = np.cumprod([1.0, *LOW_ALIVE])[:9]
    births = float((alive * np.array(LOW_BIRTHS[1:10])).sum()) * 0.9745**8
    assert rate_from_early_births(births, 9.0) == pytest.approx(np.log(1.2917), rel=0.1)
