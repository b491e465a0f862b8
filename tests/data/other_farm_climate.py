"""Make the logger file of the other farm: two houses, hourly, four weeks of an inland spring.

Seeded, and checked by a test against the file that is kept. Run as a program it writes that file anew.
"""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta
from pathlib import Path

HERE = Path(__file__).parent / "other_farm"
FIRST = datetime(2026, 10, 23, 0, 0)
HOURS = 28 * 24
MEAN_DEGC = {"Norte": 18.5, "Sur": 19.5}


def climate_csv(seed: int = 20261120) -> str:
    """Return the file as text: local times without an offset, as a logger writes them."""
    draw = random.Random(seed)
    lines = ["house,sensor,place,source,time,temperature_degc,humidity_pct"]
    for house, mean in MEAN_DEGC.items():
        anomaly = 0.0
        for hour in range(HOURS):
            if hour % 24 == 0:
                anomaly = 0.7 * anomaly + draw.gauss(0.0, 1.2)
            at = FIRST + timedelta(hours=hour)
            sun = math.cos((at.hour - 15) / 24 * 2 * math.pi)
            warm = mean + 0.03 * hour / 24 + anomaly + 6.5 * sun + draw.gauss(0.0, 0.3)
            humid = min(98.0, max(30.0, 68 - 18 * sun + draw.gauss(0.0, 2.0)))
            lines.append(f"{house},{house[0]}1,canopy,logger,{at:%Y-%m-%d %H:%M},{warm:.1f},{humid:.0f}")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    (HERE / "climate.csv").write_text(climate_csv())
