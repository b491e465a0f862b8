"""One whole individual, from the moment it stands at to the end of a part of a day: what happens to it, by its luck."""

from __future__ import annotations

import math

import numpy as np

from outpace.simulation.chains import Array, compiled_apart, varying
from outpace.simulation.counter_luck import lower, mix, next_key, poisson, upper
from outpace.simulation.few import (
    MOST_WAITING,
    OF_PAIR,
    ONCE,
    PACE,
    RISK,
    TEETH,
    WINGED_YOUNG,
    WINGLESS_YOUNG,
    Counts,
    Words,
)
from outpace.simulation.hunt import stage_of_size
from outpace.simulation.layout import (
    FLYING,
    WINGED,
    WINGLESS,
    YOUNG_ADULTS,
    Integers,
)
from outpace.simulation.ledger import (
    BORN,
    DIED_IN_MUMMY,
    DIED_OLD,
    DIED_STUNG,
    DIED_YOUNG,
    EATEN,
    EMERGED,
    HATCHED,
    HYPERPARASITISED,
    LEFT,
    MALES,
    MUMMIES_EATEN,
    MUMMIFIED,
    UNEXPLAINED,
)

ARRIVALS, OF_STUNG, OF_PART = 50, 60, 4096
"""Numbers within the keys of a species: arrivals, stung rows, and parts of a day."""
TO_REST = 70
"""Number within the key of a mummy that forms: whether it rests until spring."""
LEAST = 1e-300
PLACES = 64
"""Where an aphid waits to go: its block times this, and its substage."""
SURVIVE, SCORCHED, WILL_FLY, WILL_LEAVE, LOSS = range(5)
"""Single figures of a pest: survival of a passage, heat death, winged share, share of flyers that leave, other loss."""
GOING, BY_HEAT, LASTS, YOUNG, TEETH_OF_MUMMIES, STINGS_OF_MUMMIES = range(6)
"""Life of stung ones and of mummies: rate of passages, heat death, survival of a passage; then young borne, by host
size, or the share that is female; of mummies also the hazards of predators and of hyperparasitoids."""


@compiled_apart
def settle(row: int, count: int, whole: Counts, lived: Counts) -> None:
    """Let individuals stand where they have come to."""
    for r in range(row, row + count):
        whole[r] = lived[r]
        lived[r] = 0


@compiled_apart
def wait(
    where: int, time: float, key: np.uint64, place: Counts, born: Array, born_key: Words, waits: Counts
) -> None:
    """Let one aphid wait for its turn to live the rest of the part of the day."""
    i = waits[0]
    place[i] = where
    born[i] = time
    born_key[i] = key
    waits[0] = i + 1


@compiled_apart
def bear(
    number: int,
    time: float,
    key: np.uint64,
    row: int,
    lived: Counts,
    tally: Array,
    place: Counts,
    born: Array,
    born_key: Words,
    waits: Counts,
) -> None:
    """Let the young wait for their turn to live; beyond the room for it they stay newborn until midnight."""
    tally[BORN] += number
    for k in range(number):
        if waits[0] < MOST_WAITING:
            wait(0, time, next_key(key, 1 + k), place, born, born_key, waits)
        else:
            lived[row] += 1


@compiled_apart
def live_aphid(
    desk: Array,
    begins: Integers,
    counts: Integers,
    block: int,
    index: int,
    time: float,
    word: np.uint64,
    stung: Integers,
    stung_count: Integers,
    lived: Counts,
    tally: Array,
    place: Counts,
    born: Array,
    born_key: Words,
    formed: Array,
    formed_key: Words,
    formed_of: Counts,
    waits: Counts,
) -> None:
    """Let one aphid that no wasp has stung live to the end of a part of a day."""
    once = desk[ONCE]
    while True:
        stage = block if block < 4 else (4 if block <= WINGLESS else 5)
        going = desk[PACE, block]
        total = going + desk[RISK, stage]
        word = mix(word)
        if total > 0.0:
            time -= math.log(upper(word)) / total
        if total <= 0.0 or time >= 1.0:
            lived[begins[block] + index] += 1
            return
        pick = lower(word) * total
        if pick >= going:
            pick -= going
            if pick < once[LOSS]:
                tally[UNEXPLAINED] += 1.0
                return
            pick -= once[LOSS]
            if pick < desk[TEETH, stage]:
                tally[EATEN] += 1.0
                return
            pick -= desk[TEETH, stage]
            for j in range(len(stung)):
                if pick < desk[OF_PAIR + j, stage]:
                    size = 0 if stage < 3 else (1 if stage == 3 else 2)
                    live_stung(
                        desk, j, len(stung), size, varying(0), stung[j], stung_count[j], begins[0], time, word,
                        lived, tally, place, born, born_key, formed, formed_key, formed_of, waits,
                    )  # fmt: skip
                    return
                pick -= desk[OF_PAIR + j, stage]
            tally[DIED_YOUNG if stage < 4 else UNEXPLAINED] += 1.0
            return
        luck = pick / going
        count = counts[block]
        index += 1
        if block < 4:
            if luck >= once[SURVIVE]:
                tally[DIED_YOUNG] += 1.0
                return
            if index == count:
                index = 0
                if block < 3:
                    block += 1
                else:
                    block = FLYING if luck < once[SURVIVE] * once[WILL_FLY] else YOUNG_ADULTS
        elif block == YOUNG_ADULTS:
            if index == count:
                index = 0
                block = WINGLESS
        elif block == FLYING:
            if luck < once[WILL_LEAVE]:
                tally[LEFT] += 1.0
                return
            index = 0
            block = WINGED
        else:
            mean = desk[WINGLESS_YOUNG if block == WINGLESS else WINGED_YOUNG, index - 1]
            bear(poisson(mean, luck), time, word, begins[0], lived, tally, place, born, born_key, waits)
            if index == count:
                tally[DIED_OLD] += 1.0
                return


@compiled_apart
def live_stung(
    desk: Array,
    j: int,
    pairs: int,
    size: int,
    index: int,
    begin: int,
    count: int,
    nursery: int,
    time: float,
    word: np.uint64,
    lived: Counts,
    tally: Array,
    place: Counts,
    born: Array,
    born_key: Words,
    formed: Array,
    formed_key: Words,
    formed_of: Counts,
    waits: Counts,
) -> None:
    """Let one living stung aphid live to the end of a part of a day, or to the mummy it becomes."""
    life, loss, teeth = desk[OF_PAIR + pairs + j], desk[ONCE, LOSS], desk[TEETH, stage_of_size(size)]
    bearing = max(1, count // 3)
    going = life[GOING]
    total = going + life[BY_HEAT] + loss + teeth
    while True:
        word = mix(word)
        if total > 0.0:
            time -= math.log(upper(word)) / total
        if total <= 0.0 or time >= 1.0:
            lived[begin + size * count + index] += 1
            return
        pick = lower(word) * total
        if pick >= going + life[BY_HEAT]:
            tally[EATEN if pick >= going + life[BY_HEAT] + loss else UNEXPLAINED] += 1.0
            return
        if pick >= going:
            tally[DIED_STUNG] += 1.0
            return
        if index < bearing and life[YOUNG + size] > 0.0:
            brood = mix(~word)
            number = poisson(life[YOUNG + size], upper(brood))
            bear(number, time, brood, nursery, lived, tally, place, born, born_key, waits)
        if pick >= going * life[LASTS]:
            tally[DIED_STUNG] += 1.0
            return
        index += 1
        if index == count:
            tally[MUMMIFIED] += 1.0
            if waits[1] < MOST_WAITING:
                formed[waits[1]] = time
                formed_key[waits[1]] = word
                formed_of[waits[1]] = j
                waits[1] += 1
            return


@compiled_apart
def live_mummy(
    life: Array,
    row: int,
    index: int,
    count: int,
    time: float,
    word: np.uint64,
    shells: int,
    dead: int,
    column: Array,
    stands: Counts,
    book: Array,
) -> int:
    """Let one mummy live to the end of a part of a day, or hatch: return the females that came out of it."""
    going = life[GOING]
    total = going + life[BY_HEAT] + life[TEETH_OF_MUMMIES] + life[STINGS_OF_MUMMIES]
    while True:
        word = mix(word)
        if total > 0.0:
            time -= math.log(upper(word)) / total
        if total <= 0.0 or time >= 1.0:
            stands[row + index] += 1
            return 0
        pick = lower(word) * total
        if pick >= going + life[BY_HEAT]:
            pick -= going + life[BY_HEAT]
            book[MUMMIES_EATEN if pick < life[TEETH_OF_MUMMIES] else HYPERPARASITISED] += 1.0
            return 0
        if pick >= going * life[LASTS]:
            book[DIED_IN_MUMMY] += 1.0
            column[dead] += 1.0
            return 0
        index += 1
        if index == count:
            book[HATCHED] += 1.0
            column[shells] += 1.0
            if pick < going * life[LASTS] * life[YOUNG]:
                book[EMERGED] += 1.0
                return 1
            book[MALES] += 1.0
            return 0
