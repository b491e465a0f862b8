"""One day in the lives of single aphids and wasps, plant by plant.

Every row is an animal. An aphid has its plant, its progress to adulthood, its own pace, its age as an adult, its
progress as a host once stung; a wasp has its plant, age and eggs. In large populations each row stands for ``weight``
animals.
"""

from __future__ import annotations

import numpy as np
from numba import njit

PROGRESS, PACE, AGE, STUNG, REST = range(5)
"""Columns of an aphid's numbers; STUNG is below 0 in a healthy one. REST is what the wasp's pace in it is."""
PLANT, WINGED, HIDDEN, HOST_STAGE = range(4)
"""Columns of an aphid's whole numbers."""
SOUND, DEAD, HYPER = range(3)
"""What a closed mummy holds: a wasp that will fly, nothing that lives, a hyperparasitoid."""
RELISH = np.array([0.5, 0.9, 0.9, 0.6, 0.35])
"""How readily each age (four instars, adults) is stung once met."""


@njit(cache=True)
def whole(rng, x):
    """Round by chance, so that means stay what they are."""
    low = int(np.floor(x))
    return low + (1 if rng.random() < x - low else 0)


@njit(cache=True)
def neighbour(rng, plant, rows, columns, reach):
    """Return a plant some steps away, along the row more often than across."""
    row, column = plant // columns, plant % columns
    step = int(np.ceil(-reach * np.log(1.0 - rng.random())))
    if rng.random() < 0.7:
        column += step if rng.random() < 0.5 else -step
    else:
        across = max(1, step // 2)
        row += across if rng.random() < 0.5 else -across
    row = min(max(row, 0), rows - 1)
    column = min(max(column, 0), columns - 1)
    return row * columns + column


@njit(cache=True)
def aphids_live(
    rng, numbers, kinds, count, weight, here, grow, sting_grow, warmth, bear, quality, rows, columns,
    nymph_death, adult_death, crowd_at, pace_sd, births_fade, winged_most, winged_at, winged_leave, stroll,
    stroll_crowded, hidden, bearing_stung, killed, mummy_plant, mummy_pace,
):  # fmt: skip
    """Let every aphid grow, bear, move or die; return how many rows are left and how many mummies were made."""
    capacity = len(kinds)
    kept = 0
    born = count
    mummies = 0
    plants = rows * columns
    for i in range(count):
        plant = kinds[i, PLANT]
        crowd = here[plant] / crowd_at
        if rng.random() < killed[plant]:
            continue
        stung = numbers[i, STUNG]
        if stung >= 0.0:
            stung += sting_grow[plant] * numbers[i, REST]
            if stung >= 1.0:
                if mummies < len(mummy_plant):
                    mummy_plant[mummies] = plant
                    mummy_pace[mummies] = numbers[i, REST]
                    mummies += 1
                continue
            numbers[i, STUNG] = stung
        progress = numbers[i, PROGRESS]
        adult = progress >= 1.0
        risk = (adult_death if adult else nymph_death) * (0.4 + 0.6 * warmth[plant]) + 0.25 * crowd * crowd
        if adult:
            risk += 0.0008 * numbers[i, AGE] ** 2
        if rng.random() < 1.0 - np.exp(-risk):
            continue
        if not adult:
            if stung < 0.6:
                progress += grow[plant] * numbers[i, PACE]
            numbers[i, PROGRESS] = progress
            if progress >= 1.0 and kinds[i, WINGED] == 1 and stung < 0.0:
                if rng.random() < winged_leave:
                    continue
                kinds[i, PLANT] = int(rng.random() * plants)
        else:
            numbers[i, AGE] += warmth[plant]
            if stung < bearing_stung:
                age = numbers[i, AGE]
                expected = (
                    bear[plant] * quality[plant] * min(1.0, 0.3 + 0.7 * age) * np.exp(-age / births_fade)
                )
                expected /= 1.0 + crowd * crowd
                if kinds[i, WINGED] == 1:
                    expected *= 0.7
                if stung >= 0.0:
                    expected *= 0.5
                young = rng.poisson(expected)
                crowding = (here[plant] / winged_at) ** 2
                winged = 0.01 + winged_most * crowding / (1.0 + crowding)
                for _ in range(young):
                    if born >= capacity:
                        break
                    numbers[born, PROGRESS] = 0.0
                    numbers[born, PACE] = np.exp(pace_sd * rng.standard_normal())
                    numbers[born, AGE] = 0.0
                    numbers[born, STUNG] = -1.0
                    numbers[born, REST] = 1.0
                    kinds[born, PLANT] = plant
                    kinds[born, WINGED] = 1 if rng.random() < winged else 0
                    kinds[born, HIDDEN] = 1 if rng.random() < hidden else 0
                    kinds[born, HOST_STAGE] = 0
                    born += 1
        leave = stroll * (0.3 + 0.7 * progress) + stroll_crowded * here[plant] / (here[plant] + 60.0)
        if progress > 0.4 and rng.random() < leave:
            kinds[i, PLANT] = neighbour(rng, kinds[i, PLANT], rows, columns, 1.5)
        if rng.random() < 0.25:
            kinds[i, HIDDEN] = 1 if rng.random() < hidden else 0
        if kept != i:
            numbers[kept] = numbers[i]
            kinds[kept] = kinds[i]
        kept += 1
    for i in range(count, born):
        if kept != i:
            numbers[kept] = numbers[i]
            kinds[kept] = kinds[i]
        kept += 1
    return kept, mummies


@njit(cache=True)
def by_plant(kinds, count, plants):
    """Return the rows in the order of their plants, and where each plant's begin."""
    begin = np.zeros(plants + 1, np.int64)
    for i in range(count):
        begin[kinds[i, PLANT] + 1] += 1
    for p in range(plants):
        begin[p + 1] += begin[p]
    at = begin[:-1].copy()
    order = np.empty(count, np.int64)
    for i in range(count):
        plant = kinds[i, PLANT]
        order[at[plant]] = i
        at[plant] += 1
    return order, begin


@njit(cache=True)
def wasps_search(
    rng, numbers, kinds, count, weight, wasp_plant, wasp_age, wasp_eggs, wasps, wasp_weight, active, loss,
    rows, columns, visits, finding, sting_cap, type_iii_at, following, following_power, hindrance, eggs_per_day,
    accepts, pace_sd,
):  # fmt: skip
    """Let every female search and sting for a day, then lose some; return how many rows of females are left."""
    plants = rows * columns
    order, begin = by_plant(kinds, count, plants)
    drawn = np.empty(plants)
    total = 0.0
    for p in range(plants):
        total += (weight * (begin[p + 1] - begin[p]) + 0.01) ** following_power
        drawn[p] = total
    visited = np.zeros(plants)
    left = 0
    for w in range(wasps):
        plant = wasp_plant[w]
        for_today = min(wasp_eggs[w], eggs_per_day * active[plant])
        for _ in range(rng.poisson(visits * active[plant])):
            if rng.random() < following:
                plant = min(np.searchsorted(drawn, rng.random() * total), plants - 1)
            else:
                plant = neighbour(rng, plant, rows, columns, 3.0)
            animals = weight * (begin[plant + 1] - begin[plant])
            if animals <= 0 or for_today <= 0:
                continue
            found = finding
            if type_iii_at > 0.0:
                found *= animals / (animals + type_iii_at)
            found /= 1.0 + hindrance * visited[plant]
            visited[plant] += wasp_weight
            met = rng.poisson(found * animals / (1.0 + found * animals / sting_cap))
            if met > for_today:
                met = whole(rng, for_today)
            for _ in range(whole(rng, met * wasp_weight / weight)):
                at = begin[plant] + int(rng.random() * (begin[plant + 1] - begin[plant]))
                i = order[at]
                if kinds[i, HIDDEN] == 1:
                    continue
                stage = min(int(numbers[i, PROGRESS] * 4.0), 4)
                if rng.random() > RELISH[stage]:
                    continue
                if numbers[i, STUNG] >= 0.0:
                    if rng.random() < 0.3:
                        for_today -= weight / wasp_weight
                        wasp_eggs[w] -= weight / wasp_weight
                    continue
                for_today -= weight / wasp_weight
                wasp_eggs[w] -= weight / wasp_weight
                if rng.random() < accepts:
                    numbers[i, STUNG] = 0.0
                    numbers[i, REST] = np.exp(pace_sd * rng.standard_normal())
                    kinds[i, HOST_STAGE] = stage
        wasp_age[w] += 1.0
        if rng.random() < 1.0 - np.exp(-loss[plant] - 0.002 * wasp_age[w] ** 2) or wasp_eggs[w] < 1.0:
            continue
        wasp_plant[left], wasp_age[left], wasp_eggs[left] = plant, wasp_age[w], wasp_eggs[w]
        left += 1
    return left
