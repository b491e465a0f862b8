"""The week worked out after an entry and as an hour begins, before anyone asks: one at a time, of the newest state."""

from __future__ import annotations

import asyncio
import os
import sys
import threading
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import datetime

QUIET_S = 5.0
"""So long nothing more must be entered: whoever types in a walk does not have the week worked out line by line."""
NICENESS = 10
"""So much such work stands back behind all else on the machine."""


class Beforehand:
    """Begins a piece of work some seconds after the last entry; entries that come meanwhile begin it once more.

    Parameters
    ----------
    work : callable
        What is to be done; it asks for what is newest when it begins.
    quiet_s : float
        Seconds without an entry before it begins.
    """

    def __init__(self, work: Callable[[], Awaitable[object]], quiet_s: float = QUIET_S) -> None:
        self._work, self._quiet_s = work, quiet_s
        self._entries = 0
        self._task: asyncio.Task[None] | None = None
        self._turns: asyncio.Task[None] | None = None

    def entered(self) -> None:
        """Say that something was entered, in the thread that serves."""
        self._entries += 1
        if self._task is None or self._task.done():
            self._task = asyncio.ensure_future(self._until_nothing_is_new())

    def turn(self, wait_s: Callable[[], float]) -> None:
        """Begin it also after so many seconds, asked anew each time, until all is cancelled."""
        if self._turns is None or self._turns.done():
            self._turns = asyncio.ensure_future(self._turn_by_turn(wait_s))

    def cancel(self) -> None:
        """Begin nothing any more."""
        for task in (self._task, self._turns):
            if task is not None and not task.done():
                with suppress(RuntimeError):  # the loop it would have run in is closed
                    task.cancel()

    async def _turn_by_turn(self, wait_s: Callable[[], float]) -> None:
        while True:
            await asyncio.sleep(wait_s())
            self.entered()

    async def _until_nothing_is_new(self) -> None:
        done = 0
        while done != self._entries:
            seen = self._entries
            await asyncio.sleep(self._quiet_s)
            if seen == self._entries:
                await self._work()
                done = seen


def until_next_hour(now: datetime) -> float:
    """Return the seconds until an hour begins: from then on cut-offs of another hour count. [s]

    Examples
    --------
    >>> until_next_hour(datetime(2026, 5, 4, 6, 59, 30))
    30.0
    >>> until_next_hour(datetime(2026, 5, 4, 7))
    3600.0
    """
    return 3600.0 - (60 * now.minute + now.second + now.microsecond / 1e6)


def low_priority_pool() -> ThreadPoolExecutor:
    """Return a pool of one thread that stands back behind others, as do the threads it starts."""
    return ThreadPoolExecutor(1, thread_name_prefix="season beforehand", initializer=_stand_back)


def _stand_back() -> None:
    # Where threads have a priority of their own; elsewhere it would be that of the whole program.
    if sys.platform == "linux":
        thread = threading.get_native_id()
        with suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, thread, max(NICENESS, os.getpriority(os.PRIO_PROCESS, thread)))
