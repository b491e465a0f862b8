"""Work of houses that need nothing of each other, done in two threads: the kernel lets other threads run.

Each thread gets the context of the asker, in which the language stands. How many there are has no effect on any answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from typing import TypeVar

Thing = TypeVar("Thing")
Result = TypeVar("Result")

TOGETHER = 2
"""Houses worked on at a time."""


def of_each(
    work: Callable[[Thing], Result], things: Iterable[Thing], threads: int = TOGETHER
) -> list[Result]:
    """Return what the work gives for each thing, in their order.

    Examples
    --------
    >>> of_each(len, ["a", "bc", ""])
    [1, 2, 0]
    """
    waiting = list(things)
    threads = min(threads, len(waiting))
    if threads <= 1:
        return [work(thing) for thing in waiting]
    with ThreadPoolExecutor(max_workers=threads, thread_name_prefix="plan") as together:
        begun = [together.submit(copy_context().run, work, thing) for thing in waiting]
        return [each.result() for each in begun]
