"""Photograph every page, both sizes, every language: ``python -m tests.surfaces.web.screens``.

The pages show the example answers of the tests, whose own words are English in every language; ``--farm DIR`` builds
the invented farm there and shows it instead, which takes its time.
Writes ``docs/screens/LANGUAGE/SIZE/PAGE.webp``; pages longer than a few screens are cut.
"""

from __future__ import annotations

import argparse
import io
from pathlib import Path

from PIL import Image
from tests.surfaces.web.chromium import DESK, PHONE
from tests.surfaces.web.every_page import demo_pages, example_pages, ready
from tests.surfaces.web.served import chromium

from outpace.language import languages

SIZES = {"phone": (PHONE, 1700), "desk": (DESK, 1300)}
QUALITY = 30
UNSTUCK = """document.querySelectorAll('*').forEach(item => {
  if (getComputedStyle(item).position === 'sticky') item.style.position = 'static';
})"""
"""What sticks to the edge of a screen would lie across a picture of the whole page."""
OUT = Path(__file__).parents[3] / "docs" / "screens"


def main() -> None:
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--farm", type=Path, help="show the invented farm, built here")
    told.add_argument("--out", type=Path, default=OUT)
    told.add_argument("--only", nargs="*", help="names of pages")
    told.add_argument("--languages", nargs="*", default=list(languages()), help="codes of languages")
    asked = told.parse_args()
    shown = demo_pages(asked.farm) if asked.farm else example_pages(Path("out/screens"))
    with shown as (address, pages), chromium() as browser:
        for name, path in pages.items():
            if asked.only and name not in asked.only:
                continue
            for language in asked.languages:
                ready(address, f"{path}{'&' if '?' in path else '?'}lang={language}")
                for size, ((width, height), longest) in SIZES.items():
                    context = browser.new_context(
                        viewport={"width": width, "height": height}, locale=language
                    )
                    page = context.new_page()
                    page.goto(address + path)
                    page.wait_for_load_state("networkidle")
                    page.evaluate(UNSTUCK)
                    wide = page.evaluate("document.documentElement.scrollWidth")
                    if wide > width:
                        print(f"{language} {size} {name}: {wide - width} px too wide")
                    picture = Image.open(io.BytesIO(page.screenshot(full_page=True))).convert("RGB")
                    file = asked.out / language / size / f"{name}.webp"
                    file.parent.mkdir(parents=True, exist_ok=True)
                    picture.crop((0, 0, picture.width, min(picture.height, longest))).save(
                        file, quality=QUALITY, method=6
                    )
                    context.close()
            print(name, flush=True)
    size_mb = sum(file.stat().st_size for file in asked.out.rglob("*.webp")) / 1e6
    print(f"{size_mb:.1f} MB")


if __name__ == "__main__":
    main()
