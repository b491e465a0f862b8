"""Imports run one way through the layers; imports inside functions count too."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "src" / "outpace"

MAY_IMPORT = {
    "language": set(),
    "errors": {"language"},
    "measures": {"units", "errors", "language"},
    "currency": {"measures", "language"},
    "terms": {"errors", "language"},
    "units": {"errors", "language"},
    "facts": {"errors", "language"},
    "biology": {"errors", "language"},
    "simulation": {"biology", "facts", "terms", "errors", "language"},
    "estimation": {"simulation", "biology", "facts", "terms", "measures", "errors", "language"},
    "planning": {"estimation", "simulation", "biology", "facts", "terms", "measures", "errors", "language"},
    "intake": {"terms", "units", "measures", "errors", "language"},
    "records": {"terms", "units", "measures", "errors", "language"},
    "season": {
        "records",
        "intake",
        "planning",
        "estimation",
        "simulation",
        "biology",
        "facts",
        "terms",
        "units",
        "measures",
        "currency",
        "errors",
        "language",
    },
    "surfaces": {"season", "facts", "terms", "units", "measures", "currency", "errors", "language"},
}


def layer_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def imported(tree: ast.AST) -> list[str]:
    names = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute"
            names += [f"{node.module}.{alias.name}" for alias in node.names]
    return [name for name in names if name.split(".")[0] == "outpace"]


def broken_rules(path: Path, source: str) -> list[str]:
    here = layer_of(path)
    found = []
    for name in imported(ast.parse(source)):
        parts = name.split(".")
        there = parts[1] if len(parts) > 1 else ""
        if there not in MAY_IMPORT:
            found.append(f"{name}: the package root holds nothing to import")
        elif there != here and there not in MAY_IMPORT[here]:
            found.append(f"{here} imports {name}")
    return found


FILES = sorted(path for path in ROOT.rglob("*.py") if path != ROOT / "__init__.py")


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_file_imports_only_from_the_layers_below_it(path):
    assert broken_rules(path, path.read_text()) == []


def test_the_rule_sees_a_hidden_import_inside_a_function():
    source = "def later():\n    from outpace.surfaces.cli import main\n    return main\n"
    assert broken_rules(ROOT / "biology" / "invented.py", source) == [
        "biology imports outpace.surfaces.cli.main"
    ]


@pytest.mark.parametrize("root", sorted(ROOT.rglob("__init__.py")), ids=lambda p: str(p.relative_to(ROOT)))
def test_a_package_root_imports_nothing(root):
    assert imported(ast.parse(root.read_text())) == []


def test_every_layer_of_the_rule_exists_and_every_folder_has_a_rule():
    there = {layer_of(path) for path in FILES}
    assert there == set(MAY_IMPORT)


def test_no_file_is_much_above_four_hundred_lines():
    long = {str(p.relative_to(ROOT)): n for p in FILES if (n := len(p.read_text().splitlines())) > 420}
    assert long == {}


def test_plots_are_made_in_surfaces_only():
    users = [p for p in FILES if "matplotlib" in p.read_text() and layer_of(p) != "surfaces"]
    assert users == []
