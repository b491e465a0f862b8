"""The examples in the docstrings of text, command line and what they enter are run."""

from __future__ import annotations

import doctest
import importlib

import pytest

import outpace.season.enter
import outpace.season.lag_temperature
import outpace.season.moments
from outpace.surfaces.cli import week_files
from outpace.surfaces.text import page, recorded

MODULES = [
    page,
    recorded,
    week_files,
    outpace.season.enter,
    outpace.season.moments,
    outpace.season.lag_temperature,
]


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_docstring_examples_give_what_they_show(module):
    result = doctest.testmod(importlib.import_module(module.__name__))
    assert result.attempted > 0
    assert result.failed == 0
