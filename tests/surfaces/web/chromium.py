"""The browser that the tests drive: how it is started, on what screens, with what rules."""

from __future__ import annotations

from pathlib import Path

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-quic",
)

AXE = Path(__file__).parents[2] / "vendor" / "axe-core" / "axe.min.js"
PHONE, DESK, NARROWEST = (360, 740), (1280, 800), (320, 640)
