"""Members side by side: the functions of packs against numpy's, lane by lane."""

from __future__ import annotations

import numpy as np
from numba import njit

from outpace.simulation.pack_functions import exp, log, log1p, power
from outpace.simulation.packs import WIDTH, any_of, get, put, rows_at, select, whole_part

EXP, LOG, LOG1P, POWER = range(4)


@njit
def over_packs(kind, a, b, out):
    for i in range(len(a)):
        x = get(a, i)
        if kind == EXP:
            put(out, i, exp(x))
        elif kind == LOG:
            put(out, i, log(x))
        elif kind == LOG1P:
            put(out, i, log1p(x))
        else:
            put(out, i, power(x, get(b, i)))


@njit
def columns(table, places, out):
    place = get(places, 0)
    found = rows_at(table, place)
    for k in range(8):
        put(out, k, found[k])
    put(out, 8, select(place > 4.0, whole_part(place), -1.0 * place))
    return any_of(place > 8.0), any_of(place > 9.5)


def in_packs(kind, a, b=None):
    a = a.reshape(-1, WIDTH)
    out = np.empty_like(a)
    over_packs(kind, a, a if b is None else b.reshape(-1, WIDTH), out)
    return out.ravel()


def test_exponentials_and_logarithms_are_right_to_a_few_units_of_the_last_place():
    rng = np.random.default_rng(1)
    for wide in (700.0, 1.0, 1e-9):
        x = rng.uniform(-wide, wide, 80_000)
        np.testing.assert_allclose(in_packs(EXP, x), np.exp(x), rtol=1e-15)
    for low, high in ((-300, 300), (-1, 1)):
        x = 10.0 ** rng.uniform(low, high, 80_000)
        np.testing.assert_allclose(in_packs(LOG, x), np.log(x), rtol=2e-15)
    x = np.append(10.0 ** rng.uniform(-15, 12, 80_000), np.zeros(WIDTH))
    np.testing.assert_allclose(in_packs(LOG1P, x), np.log1p(x), rtol=1e-15)
    base, exponent = 10.0 ** rng.uniform(-10, 10, 80_000), rng.uniform(-2, 3, 80_000)
    np.testing.assert_allclose(in_packs(POWER, base, exponent), base**exponent, rtol=1e-13)


def test_what_lies_beyond_the_range_of_numbers_stays_finite():
    extreme = np.array([-1e308, -1e4, -709.0, 709.0, 1e4, 1e308, 0.0, -0.0])
    found = in_packs(EXP, np.resize(extreme, WIDTH))
    assert np.isfinite(found).all()
    assert found[6] == found[7] == 1.0
    assert found[0] < 1e-307 < 1e307 < found[5]
    assert in_packs(LOG, np.zeros(WIDTH))[0] < -700.0


def test_each_member_reads_its_own_row_of_a_table():
    table = np.arange(80.0).reshape(10, 8)
    places = np.resize([9.9, 8.5, 3.0, 2.2, 1.0, 0.0, 7.0, 5.5, 4.5], (1, WIDTH))
    out = np.empty((9, WIDTH))
    assert columns(table, places, out) == (True, True)
    np.testing.assert_array_equal(out[:8].T, table[places[0].astype(int)])
    np.testing.assert_array_equal(out[8], np.where(places[0] > 4.0, np.trunc(places[0]), -places[0]))
