"""Passes over chains of substages: the inner loops of the kernel.

A stage with n substages, each left at rate a per step, is one bidiagonal linear system. It is stepped by the
trapezoidal rule: what flows out of a substage is a/2 times its numbers before and after the step, added. That is second
order in the step, conserves animals to rounding, and keeps them positive while a < 2.

All arrays are blocks of members; the member runs innermost.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

from outpace.simulation.parameter_rows import CONSTANT, LOWER, OPTIMUM, UPPER

Array = NDArray[np.float64]
Cells = NDArray[np.uint32]
Function = TypeVar("Function", bound=Callable[..., Any])

# Division by zero gives inf instead of an error, so that loops can be vectorised. The functions inside are called from
# compiled code alone and allocate nothing: without wrappers and reference counts they compile in a third of the time.
OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy"}
WITHIN: dict[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
LEAN: dict[str, Any] = {"_nrt": False}


def compiled(function: Function) -> Function:
    """Compile a function that is called by compiled code and allocates nothing."""
    return cast(Function, njit(**OPTIONS, **WITHIN, **LEAN)(function))


def compiled_and_kept(function: Function) -> Function:
    """Compile a function that Python calls, and keep the result on disk."""
    return cast(Function, njit(**OPTIONS, cache=True)(function))


def compiled_allocating(function: Function) -> Function:
    """Compile a function that is called by compiled code and makes arrays."""
    return cast(Function, njit(**OPTIONS, **WITHIN)(function))


GRID_LOW = -20.0
GRID_STEP = 0.25
GRID_SIZE = 321
"""Responses to temperature are read from tables from -20 to 60 °C, by straight lines between quarter degrees."""


@compiled
def development_lines(values: Array, first: int, lo: int, width: int, lines: Array) -> None:
    """Write the two straight lines whose lesser is the rate of development: slope and start of each."""
    for m in range(width):
        lower = values[first + LOWER, lo + m]
        slope = 1.0 / values[first + CONSTANT, lo + m]
        optimum = values[first + OPTIMUM, lo + m]
        upper = values[first + UPPER, lo + m]
        fall = (optimum - lower) * slope / (upper - optimum)
        lines[0, m] = slope
        lines[1, m] = -lower * slope
        lines[2, m] = -fall
        lines[3, m] = upper * fall


@compiled
def add_development(lines: Array, temperature: Array, width: int, share: float, rate: Array) -> None:
    """Add ``share`` of the rate at this temperature to ``rate``. [d⁻¹]"""
    for m in range(width):
        rising = lines[0, m] * temperature[m] + lines[1, m]
        falling = lines[2, m] * temperature[m] + lines[3, m]
        rate[m] += share * max(0.0, min(rising, falling))


@compiled
def place_on_grid(temperature: Array, width: int, cell: Cells, part: Array) -> None:
    """Write the cell of the response tables that holds each temperature, and where in it."""
    for m in range(width):
        place = (temperature[m] - GRID_LOW) / GRID_STEP
        place = min(max(place, 0.0), GRID_SIZE - 1.001)
        whole = int(place)
        cell[m] = whole
        part[m] = place - whole


@compiled
def add_response(table: Array, cell: Cells, part: Array, width: int, share: float, target: Array) -> None:
    """Add ``share`` of the tabled response to ``target``."""
    for m in range(width):
        left = table[cell[m]]
        target[m] += share * (left + part[m] * (table[cell[m] + 1] - left))


@compiled
def split_step(
    half: Array, stay: Array, width: int, keep: Array, new: Array, old_out: Array, new_out: Array
) -> None:
    """Write the factors of one pass: ``half`` is a/2, ``stay`` the share that no hazard removes in the step.

    Numbers after = keep × before + new × inflow; outflow = old_out × before + new_out × after.
    """
    for m in range(width):
        h = half[m]
        c = 1.0 / (1.0 + h)
        keep[m] = stay[m] * (1.0 - h) * c
        new[m] = c
        old_out[m] = stay[m] * h
        new_out[m] = h


@compiled
def sweep(
    state: Array,
    row: int,
    count: int,
    width: int,
    flow: Array,
    keep: Array,
    new: Array,
    old_out: Array,
    new_out: Array,
    survive: Array,
    seen: Array,
    passed: Array,
) -> None:
    """Step one chain. ``flow`` comes in as inflow and leaves as outflow of the last substage.

    Adds to ``seen`` all that stood in the chain before, to ``passed`` all that left any substage; the share
    ``survive`` of these goes on.
    """
    r = row
    last = row + count
    while r + 4 <= last:
        for m in range(width):
            k = keep[m]
            c = new[m]
            a = old_out[m]
            b = new_out[m]
            s = survive[m]
            f = flow[m]
            x0 = state[r, m]
            y0 = x0 * k + f * c
            o0 = x0 * a + y0 * b
            f = o0 * s
            x1 = state[r + 1, m]
            y1 = x1 * k + f * c
            o1 = x1 * a + y1 * b
            f = o1 * s
            x2 = state[r + 2, m]
            y2 = x2 * k + f * c
            o2 = x2 * a + y2 * b
            f = o2 * s
            x3 = state[r + 3, m]
            y3 = x3 * k + f * c
            o3 = x3 * a + y3 * b
            state[r, m] = y0
            state[r + 1, m] = y1
            state[r + 2, m] = y2
            state[r + 3, m] = y3
            flow[m] = o3 * s
            seen[m] += (x0 + x1) + (x2 + x3)
            passed[m] += (o0 + o1) + (o2 + o3)
        r += 4
    while r < last:
        for m in range(width):
            x = state[r, m]
            y = x * keep[m] + flow[m] * new[m]
            o = x * old_out[m] + y * new_out[m]
            state[r, m] = y
            flow[m] = o * survive[m]
            seen[m] += x
            passed[m] += o
        r += 1


@compiled
def sweep_bearing(
    state: Array,
    row: int,
    count: int,
    width: int,
    flow: Array,
    keep: Array,
    new: Array,
    old_out: Array,
    new_out: Array,
    shape: Array,
    seen: Array,
    borne: Array,
) -> None:
    """Step a chain of adult ages; each passage out of an age adds that age's share of lifetime births to ``borne``."""
    for j in range(count):
        r = row + j
        share = shape[j]
        for m in range(width):
            x = state[r, m]
            y = x * keep[m] + flow[m] * new[m]
            o = x * old_out[m] + y * new_out[m]
            state[r, m] = y
            flow[m] = o
            seen[m] += x
            borne[m] += share * o


@compiled
def fill(target: Array, width: int) -> None:
    """Set a row to zero."""
    for m in range(width):
        target[m] = 0.0


@compiled
def add_rows(state: Array, row: int, count: int, width: int, target: Array) -> None:
    """Add the rows of a chain to ``target``."""
    for r in range(row, row + count):
        for m in range(width):
            target[m] += state[r, m]


@compiled
def anything_in(state: Array, row: int, count: int, width: int) -> bool:
    """Return whether any number in these rows is above zero."""
    for r in range(row, row + count):
        for m in range(width):
            if state[r, m] > 0.0:
                return True
    return False


def grid_temperatures() -> Array:
    """Return the temperatures of the response tables. [°C]"""
    return GRID_LOW + GRID_STEP * np.arange(GRID_SIZE, dtype=np.float64)
