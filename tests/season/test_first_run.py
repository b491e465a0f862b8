"""Who waits for the first compilation is told so, once, in the language spoken when the command began."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from numba import njit

from outpace.language import manner_of, mannered
from outpace.season.first_run import tell_of_the_wait
from outpace.simulation.first_run import TO_TELL
from outpace.simulation.run import ready


def test_the_wait_is_told_once_and_in_the_language_of_the_command_whatever_thread_compiles():
    ready()
    said: list[str] = []
    with mannered(manner_of("es")):
        tell_of_the_wait(said.append)

    def compiled_in_another_thread() -> None:
        njit(lambda x: x + 1)(3)
        njit(lambda x: x + 2)(3)

    with ThreadPoolExecutor(max_workers=1) as pool:
        pool.submit(compiled_in_another_thread).result()
    assert len(said) == 1
    assert "una sola vez" in said[0]
    assert TO_TELL == []


def test_a_command_that_compiles_nothing_says_nothing_and_the_next_one_replaces_its_sentence():
    said: list[str] = []
    for word in ("first", "second"):
        tell_of_the_wait(lambda text, word=word: said.append(f"{word}: {text}"))
    ready()
    assert said == []
    assert len(TO_TELL) == 1
    TO_TELL.clear()
