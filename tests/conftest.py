"""What all tests share: tests that need a browser or a database server are skipped, and counted, where there is none.

With ``CI`` in the environment such a skip is a failure: there the programs must be present.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings

os.environ.setdefault(
    "OPENBLAS_NUM_THREADS", "1"
)  # as the command line does; read when numpy is first imported

os.environ.setdefault("OUTPACE_LANGUAGE", "en")  # whatever the locale of this machine

CHROMIUM = Path("/usr/bin/chromium")

# Answers kept by an earlier run, or by the user's own program, are none of a test's business.
os.environ["OUTPACE_CACHE"] = tempfile.mkdtemp(prefix="outpace-answers-")
os.environ["OUTPACE_SETTINGS"] = os.path.join(os.environ["OUTPACE_CACHE"], "settings", "none yet.json")

# The machine that runs the tests may be shared: how long an example takes says nothing of the code.
settings.register_profile("outpace", deadline=None)
settings.load_profile("outpace")


def _missing(marker: str) -> str | None:
    if marker == "browser" and not CHROMIUM.exists():
        return "no Chromium on this machine"
    if marker == "postgres" and not list(Path("/usr/lib/postgresql").glob("*/bin/initdb")):
        return "no PostgreSQL server on this machine"
    if marker == "pdf" and shutil.which("pdftotext") is None:
        return "no pdftotext on this machine"
    return None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        for marker in ("browser", "postgres", "pdf"):
            if item.get_closest_marker(marker) and (why := _missing(marker)):
                if os.environ.get("CI"):
                    item.fixturenames.insert(0, "must_be_installed")
                else:
                    item.add_marker(pytest.mark.skip(reason=why))


@pytest.fixture
def must_be_installed() -> None:
    pytest.fail("a program that this test needs is missing, and a skip counts as a failure here")
