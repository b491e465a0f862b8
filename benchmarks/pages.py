"""Measure every page on a throttled phone: bytes of the first load, time until it is ready, tap to saved.

    python -m benchmarks.pages [--farm DIR] [--only PAGE ...]

The phone is Chromium at 360 x 740 with its processor slowed four times, 1.6 Mbit/s and 150 ms a turn, set by its own
developer protocol. Answers are worked out before a page is timed: what is timed is the page, not the model. Bytes do
not hang on the machine; times do, so the least of three loads counts and the load of the machine is printed beside.
"""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from playwright.sync_api import Browser, Page
from tests.surfaces.web.chromium import PHONE
from tests.surfaces.web.every_page import demo_pages, example_pages, ready
from tests.surfaces.web.served import chromium

SLOWER = 4
BITS_PER_S = 1.6e6
TURN_MS = 150
REPEATS = 3

NOW = "performance.getEntriesByType('navigation')[0]"
BYTES = (
    "[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]"
    ".reduce((sum, entry) => sum + entry.transferSize, 0)"
)


def throttled(browser: Browser) -> Page:
    """Return a page on a slow phone with nothing kept from before."""
    context = browser.new_context(viewport={"width": PHONE[0], "height": PHONE[1]}, locale="en")
    page = context.new_page()
    speak = context.new_cdp_session(page)
    speak.send("Network.enable")
    speak.send(
        "Network.emulateNetworkConditions",
        {
            "offline": False,
            "latency": TURN_MS,
            "downloadThroughput": BITS_PER_S / 8,
            "uploadThroughput": BITS_PER_S / 8,
        },
    )
    speak.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    return page


def loaded(browser: Browser, address: str) -> tuple[float, float, float]:
    """Return when a page was ready and when its first byte came, and what it weighed. [ms, ms, KiB]"""
    page = throttled(browser)
    page.goto(address)
    page.wait_for_load_state("load")
    entry = page.evaluate(f"({{...{NOW}.toJSON()}})")
    weight = float(page.evaluate(BYTES)) / 1024
    page.context.close()
    return entry["domContentLoadedEventEnd"], entry["responseStart"], weight


def tap_to_saved(browser: Browser, address: str, taps: int = 12) -> list[float]:
    """Return how long after each tap of a walk the phone has it in its store. [ms]"""
    page = throttled(browser)
    page.goto(f"{address}/count")
    page.wait_for_selector("button.house-go")
    page.click("button.house-go")
    page.wait_for_selector("#count:visible")
    # The store is asked until it holds the tap; the asking itself counts against us.
    measure = """async (n) => {
      const open = () => new Promise((done) => {
        const r = indexedDB.open("outpace");
        r.onsuccess = () => done(r.result);
      });
      const db = await open();
      const name = "walks";
      const units = () => new Promise((done) => {
        const r = db.transaction(name).objectStore(name).getAll();
        r.onsuccess = () => done(r.result.reduce((sum, walk) => sum + walk.units.length, 0));
      });
      const before = await units();
      const began = performance.now();
      document.querySelector('[data-do="next"]').click();
      while ((await units()) === before && performance.now() - began < 5000);
      return performance.now() - began;
    }"""
    return [float(page.evaluate(measure, n)) for n in range(taps)]


def main() -> None:
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--farm", type=Path, help="measure the invented farm, built here")
    told.add_argument("--only", nargs="*", help="names of pages")
    asked = told.parse_args()
    shown = demo_pages(asked.farm) if asked.farm else example_pages(Path("out/screens"))
    with shown as (address, pages), chromium() as browser:
        print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
        print("| page | KiB | first byte, ms | ready, ms |\n|---|--:|--:|--:|")
        for name, path in pages.items():
            if asked.only and name not in asked.only:
                continue
            ready(address, path)
            done, first, kib = min(loaded(browser, address + path) for _ in range(REPEATS))
            print(f"| {name} | {kib:.0f} | {first:.0f} | {done:.0f} |", flush=True)
        waits = sorted(tap_to_saved(browser, address))
        print(f"tap to saved: median {waits[len(waits) // 2]:.0f} ms, longest {waits[-1]:.0f} ms")


if __name__ == "__main__":
    main()
