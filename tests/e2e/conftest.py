"""Books that the tests of the whole job share."""

from __future__ import annotations

import pytest
from tests.e2e.command_line import OTHER_FARM, CommandLine


@pytest.fixture(scope="session")
def other_farm(tmp_path_factory):
    """Import the other farm into a new book, and return the command line on it."""
    line = CommandLine(tmp_path_factory.mktemp("other") / "other.book")
    line.text("book", "init")
    line.text("book", "import", OTHER_FARM)
    return line
