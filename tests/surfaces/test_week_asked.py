"""The week is found where it is kept, and then nothing heavy is loaded."""

from __future__ import annotations

import subprocess
import sys

PROGRAM = """
import sys
from outpace.season.worked_out import once
from outpace.surfaces.week_asked import WeekAsked
week = WeekAsked("head", farm="Invented", as_of="2026-05-04")
if sys.argv[1] == "keep":
    once(week.question, "head", lambda: {"week": {"houses": []}, "houses": {"North": {}}})
def read():
    raise AssertionError("the book is read")
assert week.known() == ({"houses": []}, {"North": {}})
assert week.answer(read) == week.known()
assert WeekAsked("another head", farm="Invented", as_of="2026-05-04").known() is None
print(sorted({"numba", "scipy", "sqlalchemy", "numpy"} & set(sys.modules)))
"""


def test_a_kept_week_needs_neither_the_book_nor_a_library(tmp_path, monkeypatch):
    monkeypatch.setenv("OUTPACE_CACHE", str(tmp_path))
    for deed in ("keep", "find"):
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM, deed], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        assert done.stdout == "[]\n"


def test_a_forecast_loads_no_distribution_that_it_does_not_use():
    # A third of a second of each start; the same functions stand in `scipy.special`.
    program = "import sys, outpace.season.week; print('scipy.stats' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
