"""Every example in a docstring of this layer is run, and none is missing where something public computes."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil

import pytest

import outpace.biology

MODULES = sorted(
    f"outpace.biology.{module.name}" for module in pkgutil.iter_modules(outpace.biology.__path__)
)


def public_functions(name: str) -> list[tuple[str, object]]:
    module = importlib.import_module(name)
    return [
        (label, thing)
        for label, thing in inspect.getmembers(module, inspect.isfunction)
        if thing.__module__ == name and not label.startswith("_")
    ]


@pytest.mark.parametrize("name", MODULES)
def test_examples_print_what_they_say(name: str) -> None:
    module = importlib.import_module(name)
    result = doctest.testmod(module)
    assert result.attempted > 0 or not public_functions(name)
    assert result.failed == 0


@pytest.mark.parametrize("name", [module for module in MODULES if not module.endswith(".inputs")])
def test_every_public_function_says_its_units_and_shows_an_example(name: str) -> None:
    for label, function in public_functions(name):
        text = inspect.getdoc(function) or ""
        assert "Returns\n-------" in text, label
        assert "Examples\n--------" in text, label
        assert "[" in text.split("Returns\n-------")[0], f"{label}: no unit in brackets"
