"""Passes over chains of substages: the inner loops of the kernel.

A stage with n substages, each left at rate a per step, is one bidiagonal linear system. It is stepped by the
trapezoidal rule: what flows out of a substage is a/2 times its numbers before and after the step, added. That is second
order in the step, conserves animals to rounding, and keeps them positive while a < 2.

Numbers are packs of members, see `outpace.simulation.packs`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

from outpace.simulation.inner_functions import InnerCompiler
from outpace.simulation.packs import WIDTH, Pack, any_of, get, least, most, put, rows_at, spread, whole_part
from outpace.simulation.parameter_rows import CONSTANT, LOWER, OPTIMUM, UPPER

Array = NDArray[np.float64]
Factors = tuple[Pack, Pack, Pack, Pack, Pack]
Function = TypeVar("Function", bound=Callable[..., Any])

# Division by zero gives inf instead of an error, so that loops can be vectorised. The functions inside are called from
# compiled code alone and allocate nothing: without wrappers and reference counts they compile in a third of the time.
OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy"}
WITHIN: dict[str, Any] = {
    "no_cpython_wrapper": True,
    "no_cfunc_wrapper": True,
    "pipeline_class": InnerCompiler,
}
LEAN: dict[str, Any] = {"_nrt": False, "forceinline": True}
APART: dict[str, Any] = {"_nrt": False}


def compiled(function: Function) -> Function:
    """Compile a function that is called by compiled code and allocates nothing."""
    return cast(Function, njit(**OPTIONS, **WITHIN, **LEAN)(function))


def compiled_apart(function: Function) -> Function:
    """Compile a function of single members that is called seldom: it is called, not laid into the caller."""
    return cast(Function, njit(**OPTIONS, **WITHIN, **APART)(function))


def compiled_and_kept(function: Function) -> Function:
    """Compile a function that Python calls, and keep the result on disk."""
    return cast(Function, njit(**OPTIONS, cache=True)(function))


def compiled_allocating(function: Function) -> Function:
    """Compile a function that is called by compiled code and makes arrays."""
    return cast(Function, njit(**OPTIONS, **WITHIN)(function))


varying = cast(type[int], np.int64)
"""In compiled code: hides from the compiler that a whole number never changes, so that nothing is made anew for it."""

GRID_LOW = -20.0
GRID_STEP = 0.25
GRID_SIZE = 321
"""Responses to temperature are read from tables from -20 to 60 °C, by straight lines between quarter degrees."""


@compiled
def development_lines(values: Array, first: int, lines: Array, i: int) -> None:
    """Write the two straight lines whose lesser is the rate of development: slope and start of each."""
    lower = get(values, first + LOWER)
    slope = 1.0 / get(values, first + CONSTANT)
    optimum = get(values, first + OPTIMUM)
    upper = get(values, first + UPPER)
    fall = (optimum - lower) * slope / (upper - optimum)
    put(lines, i, 0, slope)
    put(lines, i, 1, -1.0 * lower * slope)
    put(lines, i, 2, -1.0 * fall)
    put(lines, i, 3, upper * fall)


@compiled
def development(lines: Array, i: int, temperature: Pack) -> Pack:
    """Return the rate of development at this temperature. [d⁻¹]"""
    rising = get(lines, i, 0) * temperature + get(lines, i, 1)
    falling = get(lines, i, 2) * temperature + get(lines, i, 3)
    return most(least(rising, falling), spread(0.0))


@compiled
def place_of(temperature: Pack) -> Pack:
    """Return where in the response tables a temperature stands: the whole part is the row."""
    place = (temperature - GRID_LOW) * (1.0 / GRID_STEP)
    return least(most(place, spread(0.0)), spread(GRID_SIZE - 1.001))


@compiled
def responses_at(table: Array, places: Array, first_hour: int, hours: int) -> tuple[Pack, Pack, Pack, Pack]:
    """Return the four responses of a table, each the mean over some hours of a day."""
    first = spread(0.0)
    second = spread(0.0)
    third = spread(0.0)
    fourth = spread(0.0)
    for hour in range(first_hour, first_hour + hours):
        place = get(places, hour)
        part = place - whole_part(place)
        at = rows_at(table, place)
        first += at[0] + part * at[4]
        second += at[1] + part * at[5]
        third += at[2] + part * at[6]
        fourth += at[3] + part * at[7]
    share = 1.0 / hours
    return first * share, second * share, third * share, fourth * share


@compiled
def chain_factors(half: Pack, stay: Pack, survive: Pack) -> Factors:
    """Return the factors of one step of a chain: ``half`` is a/2, ``stay`` the share that hazards leave in half a step.

    Hazards act for half a step, then animals pass on, then hazards act for the other half, on those that came in too:
    so the whole is of second order in the step. Numbers after = keep × before + into × inflow; what goes on to the next
    substage = out × before + through × inflow; the last factor is 1 / (1 + a/2).
    """
    new = 1.0 / (1.0 + half)
    into = stay * new
    keep = stay * (1.0 - half) * into
    through = survive * half * new
    out = 2.0 * stay * through
    return keep, into, out, through, new


@compiled
def sweep(state: Array, row: int, count: int, factors: Factors, flow: Pack) -> tuple[Pack, Pack, Pack]:
    """Step one chain; return what goes on out of its end, all that stood in it before, and all inflows added up."""
    keep, into, out, through, _ = factors
    stood = spread(0.0)
    entered = spread(0.0)
    for r in range(row, row + count):
        before = get(state, r)
        put(state, r, keep * before + into * flow)
        stood += before
        entered += flow
        flow = out * before + through * flow
    return flow, stood, entered


@compiled
def passages(half: Pack, stay: Pack, factors: Factors, stood: Pack, entered: Pack) -> Pack:
    """Return how many left any substage in a step, those that did not survive it too."""
    return half * factors[4] * (2.0 * stay * stood + entered)


@compiled
def exposed(half: Pack, stay: Pack, factors: Factors, stood: Pack, entered: Pack) -> Pack:
    """Return how many hazards found in a chain in the two halves of a step, added up."""
    return stood + factors[4] * ((1.0 - half) * stay * stood + entered)


@compiled
def sweep_bearing(
    state: Array, row: int, count: int, factors: Factors, shape: Array, flow: Pack
) -> tuple[Pack, Pack, Pack, Pack]:
    """Step a chain of adult ages; return the same as `sweep`, and births as lifetimes' worth.

    Each passage out of an age bears that age's share of a lifetime's births.
    """
    keep, into, out, through, _ = factors
    stood = spread(0.0)
    entered = spread(0.0)
    borne = spread(0.0)
    for j in range(count):
        before = get(state, row + j)
        put(state, row + j, keep * before + into * flow)
        stood += before
        entered += flow
        flow = out * before + through * flow
        borne += shape[j] * flow
    return flow, stood, entered, borne


@compiled
def sum_rows(state: Array, row: int, count: int) -> Pack:
    """Return the rows of a chain added up."""
    total = spread(0.0)
    for r in range(row, row + count):
        total += get(state, r)
    return total


@compiled
def anything_in(state: Array, row: int, count: int) -> bool:
    """Return whether any number in these rows is above zero; none is below."""
    return bool(any_of(sum_rows(state, row, count) > 0.0))


def grid_temperatures() -> Array:
    """Return the temperatures of the response tables. [°C]"""
    return GRID_LOW + GRID_STEP * np.arange(GRID_SIZE, dtype=np.float64)


@compiled
def outlive_heat(death: Pack, dt: float) -> Pack:
    """Return the share of young that heat alone does not kill in half a step."""
    if not any_of(death > 0.0):
        return spread(1.0)
    half = least(0.25 * dt * death, spread(1.0))
    return (1.0 - half) / (1.0 + half)


@compiled_allocating
def aligned(size: int) -> Array:
    """Return so many numbers that begin where a line of the cache begins: a pack then never lies across two."""
    line = 64
    room = np.zeros(size + line // 8)
    first = (-room.ctypes.data % line) // 8
    return room[first : first + size]


@compiled_allocating
def packs_of(shape: tuple[int, ...]) -> Array:
    """Return an array of packs.

    It is compiled anew for each kind of shape, and to the compiler a constant is a kind of its own: `varying` hides it.
    """
    size = varying(WIDTH)
    for length in shape:
        size *= length
    return aligned(size).reshape((*shape, varying(WIDTH)))
