"""What is said once on a machine, while the loop of the simulation is made."""

from __future__ import annotations

from collections.abc import Callable

from outpace.language import say
from outpace.simulation.first_run import TO_TELL


def tell_of_the_wait(tell: Callable[[str], None]) -> None:
    """Let ``tell`` be called, at most once, with a sentence in the language that is spoken now.

    The loop may be made in another thread, which knows of no language: so the sentence is made at once.
    """
    said = say("preparing the forecast for this machine, once: about a minute, more if it is busy")
    TO_TELL[:] = [lambda: tell(said)]
