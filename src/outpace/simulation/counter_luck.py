"""Uniform numbers that depend on what they are for and on nothing else.

A number is a hash of its key: seed, day, zone, member, process, individual. No generator is carried along, so order,
blocks and threads cannot change it, and two plans on the same members meet the same luck. Counts come by inversion of
one such number. The hash is the finaliser of a splittable 64-bit generator (Steele, Lea and Flood 2014; recalled).
"""

from __future__ import annotations

import math

import numpy as np

from outpace.simulation.chains import compiled, compiled_apart

STEP = np.uint64(0x9E3779B97F4A7C15)
FIRST = np.uint64(0xBF58476D1CE4E5B9)
SECOND = np.uint64(0x94D049BB133111EB)
SHIFT_30, SHIFT_27, SHIFT_31, SHIFT_32 = np.uint64(30), np.uint64(27), np.uint64(31), np.uint64(32)
LOW_HALF = np.uint64(0xFFFFFFFF)
ONE_PART = 1.0 / 4294967296.0
MANY = 500.0


@compiled
def mix(word: np.uint64) -> np.uint64:
    """Return the hash of a 64-bit word."""
    word = word + STEP
    word = (word ^ (word >> SHIFT_30)) * FIRST
    word = (word ^ (word >> SHIFT_27)) * SECOND
    return word ^ (word >> SHIFT_31)


@compiled
def next_key(key: np.uint64, part: int) -> np.uint64:
    """Return the key of one part of what ``key`` stands for."""
    return mix(key ^ (np.uint64(part) * STEP))


@compiled
def upper(word: np.uint64) -> float:
    """Return the upper half of a hash as a number between 0 and 1, neither of them."""
    return (float(word >> SHIFT_32) + 0.5) * ONE_PART


@compiled
def lower(word: np.uint64) -> float:
    """Return the lower half of a hash as a number between 0 and 1, neither of them."""
    return (float(word & LOW_HALF) + 0.5) * ONE_PART


@compiled_apart
def poisson(mean: float, uniform: float) -> int:
    """Return the Poisson count at which the distribution reaches ``uniform``; of many, the mean itself made whole."""
    if mean > MANY:
        return int(mean + uniform)
    count = 0
    chance = math.exp(-mean)
    reached = chance
    while uniform > reached and chance > 0.0:
        count += 1
        chance *= mean / count
        reached += chance
    return count


@compiled_apart
def binomial(number: int, share: float, uniform: float) -> int:
    """Return the binomial count at which the distribution reaches ``uniform``."""
    if share <= 0.0 or number == 0:
        return 0
    if share >= 1.0:
        return number
    odds = share / (1.0 - share)
    chance = (1.0 - share) ** number
    reached = chance
    count = 0
    while uniform > reached and count < number:
        chance *= odds * (number - count) / (count + 1)
        count += 1
        reached += chance
    return count
