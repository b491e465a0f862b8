"""Write the pages of `docs/` that the program itself knows best, and the example that opens the README.

``python -m tools.generated_docs`` writes them; a test compares them with what stands in the repository.
"""

from __future__ import annotations

import contextlib
import io
import os
import shlex
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

from outpace.season.facts import facts_markdown
from outpace.surfaces.cli import reference
from outpace.surfaces.cli.main import outcome

ROOT = Path(__file__).parent.parent
EXAMPLE_BEGINS, EXAMPLE_ENDS = "```text\n$ outpace lag", "\n```"


def printed(line: str) -> str:
    """Return what a typed line prints, 80 columns wide."""
    told = io.StringIO()
    words = shlex.split(line)
    with patch.dict(os.environ, {"COLUMNS": "80"}), contextlib.redirect_stdout(told):
        code = outcome(words[1:])
    if code != 0:
        raise ValueError(f"{line!r} ended with {code}")
    return told.getvalue().rstrip("\n")


def readme(text: str) -> str:
    """Return the README with the output of its example written anew."""
    head, began, rest = text.partition(EXAMPLE_BEGINS)
    _, ended, tail = rest.partition(EXAMPLE_ENDS)
    if not (began and ended):
        raise ValueError("the README has no block that begins with `$ outpace lag`")
    typed = rest.split("\n\n", 1)[0]
    line = "outpace lag" + typed.replace("\\\n", " ")
    return f"{head}{began}{typed}\n\n{printed(line)}{ended}{tail}"


PAGES: dict[str, Callable[[], str]] = {
    "docs/cli.md": reference.text,
    "docs/facts.md": facts_markdown,
    "README.md": lambda: readme((ROOT / "README.md").read_text(encoding="utf-8")),
}
"""Every generated page, and how it is made."""


def main() -> None:
    """Write the pages that differ."""
    for name, make in PAGES.items():
        path, text = ROOT / name, make()
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
            print(f"written: {name}")


if __name__ == "__main__":
    main()
