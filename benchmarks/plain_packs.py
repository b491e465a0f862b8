"""The kernel's own code run by plain numpy: to count its arithmetic, and as the vectorised reference of its speed.

``NUMBA_DISABLE_JIT=1 python benchmarks/plain_packs.py time|count MEMBERS DAYS`` prints JSON. All members stand in one
pack, so that each operation of the kernel is one operation of numpy on all of them. Counting tells a product and a sum
apart and passes over comparisons, choices, look-ups and copies.
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from collections.abc import Callable
from typing import Any, ClassVar

import numpy as np

from outpace.simulation import (
    bout,
    chains,
    den,
    few,
    hunt,
    kernel,
    midnight,
    mummies,
    pack_functions,
    packs,
    predators,
    room,
    run_constants,
    stages,
)

MODULES = (
    bout, chains, den, few, hunt, kernel, midnight, mummies, pack_functions, predators, room, run_constants, stages,
)  # fmt: skip
LARGE = 1.5 * 2.0**52


class Counted:
    """A pack that counts the arithmetic done with it."""

    done: ClassVar[Counter[str]] = Counter()
    part = "elsewhere"

    def __init__(self, numbers: Any) -> None:
        self.numbers = np.asarray(numbers, dtype=float)

    def _with(self, other: Any, operation: Callable[[Any, Any], Any], counts: bool = True) -> Any:
        if counts:
            Counted.done[Counted.part] += 1
        return Counted(operation(self.numbers, getattr(other, "numbers", other)))

    def __add__(self, other: Any) -> Any:
        return self._with(other, np.add)

    def __radd__(self, other: Any) -> Any:
        return self._with(other, np.add)

    def __sub__(self, other: Any) -> Any:
        return self._with(other, np.subtract)

    def __rsub__(self, other: Any) -> Any:
        return self._with(other, lambda a, b: b - a)

    def __mul__(self, other: Any) -> Any:
        return self._with(other, np.multiply)

    def __rmul__(self, other: Any) -> Any:
        return self._with(other, np.multiply)

    def __truediv__(self, other: Any) -> Any:
        return self._with(other, np.divide)

    def __rtruediv__(self, other: Any) -> Any:
        return self._with(other, lambda a, b: b / a)

    def __lt__(self, other: Any) -> Any:
        return self.numbers < getattr(other, "numbers", other)

    def __gt__(self, other: Any) -> Any:
        return self.numbers > getattr(other, "numbers", other)


def plain_functions(wrap: Callable[[Any], Any], bare: Callable[[Any], Any]) -> dict[str, Callable[..., Any]]:
    """Return what `packs` offers, on numpy arrays: ``wrap`` makes a pack of one, ``bare`` gives it back."""

    def put(array: Any, *rest: Any) -> None:
        array[rest[:-1]] = bare(rest[-1])

    def add(array: Any, *rest: Any) -> None:
        put(array, *rest[:-1], get(array, *rest[:-1]) + rest[-1])

    def get(array: Any, *index: int) -> Any:
        return wrap(array[index].copy())

    def save(array: Any, *rest: Any) -> None:
        array[rest[:-2]] = bare(rest[-1])

    def times_power_of_two(pack: Any, shifted: Any) -> Any:
        return wrap(np.ldexp(bare(pack), (bare(shifted) - LARGE).astype(int)))

    def exponent_and_fraction(pack: Any) -> Any:
        fraction, exponent = np.frexp(bare(pack))
        low = fraction < np.sqrt(0.5)
        return wrap((exponent - low).astype(float)), wrap(np.where(low, 2.0 * fraction, fraction))

    def rows_at(table: Any, place: Any) -> Any:
        return tuple(wrap(column) for column in table[bare(place).astype(int)].T)

    return {
        "get": get,
        "put": put,
        "add": add,
        "load": lambda array, *index: wrap(array[index[:-1]].copy()),
        "save": save,
        "spread": lambda number: wrap(np.full(packs.WIDTH, number)),
        "least": lambda a, b: wrap(np.minimum(bare(a), bare(b))),
        "most": lambda a, b: wrap(np.maximum(bare(a), bare(b))),
        "select": lambda mask, a, b: wrap(np.where(mask, bare(a), bare(b))),
        "any_of": lambda mask: bool(mask.any()),
        "root": lambda pack: wrap(np.sqrt(bare(pack))),
        "whole_part": lambda pack: wrap(np.trunc(bare(pack))),
        "times_power_of_two": times_power_of_two,
        "exponent_and_fraction": exponent_and_fraction,
        "rows_at": rows_at,
    }


def named(function: Callable[..., Any], name: str) -> Callable[..., Any]:
    """Let the arithmetic of a part of the day be counted under its name."""

    def part(*arguments: Any) -> Any:
        before, Counted.part = Counted.part, name
        answer = function(*arguments)
        Counted.part = before
        return answer

    return part


def main() -> None:
    """Run and print."""
    from benchmarks.kernel import house_run

    counting, members, days = sys.argv[1] == "count", int(sys.argv[2]), int(sys.argv[3])
    functions = (
        plain_functions(Counted, lambda pack: pack.numbers)
        if counting
        else plain_functions(lambda array: array, lambda pack: pack)
    )
    if not counting:
        for name in ("exp", "log", "log1p", "power"):
            functions[name] = getattr(np, name)
    packs.WIDTH = members
    for module in MODULES:
        for name, function in functions.items():
            if hasattr(module, name):
                setattr(module, name, function)
        if hasattr(module, "WIDTH"):
            module.WIDTH = members  # type: ignore[attr-defined]
    if counting:
        for name in (*PARTS, "step_pest", "step_mummies", "step_carrier"):
            setattr(kernel, name, named(getattr(kernel, name), name))
    job = house_run(members, days, wide=True)
    Counted.done.clear()
    begun = time.perf_counter()
    job()
    print(json.dumps({"seconds": time.perf_counter() - begun, "done": dict(Counted.done)}))


PARTS = (
    "look",
    "drop_dust",
    "swing",
    "warm_day",
    "read_luck",
    "count_hosts",
    "crowd",
    "sting",
    "share_out",
    "find_stung",
    "step_rates",
    "age_females",
    "follow_crowding",
    "begin_pack",
)

if __name__ == "__main__":
    main()
