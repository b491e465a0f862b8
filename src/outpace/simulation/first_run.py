"""Who is to be told when the loop of the simulation is made, which happens once on a machine and takes its time."""

from __future__ import annotations

from collections.abc import Callable

TO_TELL: list[Callable[[], None]] = []
"""Each is called once, when the loop begins to be made; never where it is found ready on the disk."""


def tell_once() -> None:
    """Call and forget them."""
    while TO_TELL:
        TO_TELL.pop()()
