"""Work begun after entries: once for many that come together, once more for those that come meanwhile."""

from __future__ import annotations

import asyncio
import os
import sys
import threading

import pytest

from outpace.surfaces.web.beforehand import NICENESS, Beforehand, low_priority_pool


class Work:
    def __init__(self):
        self.begun, self.together, self.most = 0, 0, 0
        self.gate = asyncio.Event()

    async def __call__(self):
        self.begun += 1
        self.together += 1
        self.most = max(self.most, self.together)
        await self.gate.wait()
        self.together -= 1


async def until(holds):
    while not holds():
        await asyncio.sleep(0)


def test_entries_that_come_together_begin_one_piece_of_work_and_later_ones_one_more():
    async def run():
        work = Work()
        beforehand = Beforehand(work, 0.0)
        for _ in range(5):
            beforehand.entered()
        await until(lambda: work.begun == 1)
        for _ in range(5):
            beforehand.entered()
        for _ in range(50):
            await asyncio.sleep(0)
        assert work.begun == 1
        work.gate.set()
        await beforehand._task
        assert (work.begun, work.most) == (2, 1)
        beforehand.entered()
        await beforehand._task
        assert work.begun == 3

    asyncio.run(run())


def test_what_fails_is_tried_again_at_the_next_entry():
    async def run():
        tried = []

        async def work():
            tried.append(len(tried))
            if len(tried) == 1:
                raise ValueError("broken")

        beforehand = Beforehand(work, 0.0)
        beforehand.entered()
        with pytest.raises(ValueError, match="broken"):
            await beforehand._task
        beforehand.entered()
        await beforehand._task
        assert tried == [0, 1]

    asyncio.run(run())


def test_it_begins_again_at_each_turn_until_all_is_cancelled():
    async def run():
        work, waits = Work(), []
        work.gate.set()
        beforehand = Beforehand(work, 0.0)

        def wait():
            waits.append(len(waits))
            return 0.005

        beforehand.turn(wait)
        beforehand.turn(wait)
        await until(lambda: work.begun >= 3)
        assert work.most == 1
        beforehand.cancel()
        begun, asked = work.begun, len(waits)
        await asyncio.sleep(0.05)
        assert (work.begun, len(waits)) == (begun, asked)

    asyncio.run(run())


@pytest.mark.skipif(sys.platform != "linux", reason="threads have no priority of their own")
def test_such_work_stands_back_and_so_do_the_threads_it_starts_and_no_others():
    def priority():
        return os.getpriority(os.PRIO_PROCESS, threading.get_native_id())

    def of_its_threads():
        told = []
        started = threading.Thread(target=lambda: told.append(priority()))
        started.start()
        started.join()
        return [priority(), *told]

    before = priority()
    with low_priority_pool() as pool:
        lower = min(19, max(before, NICENESS))
        assert pool.submit(of_its_threads).result() == [lower, lower]
    assert priority() == before
