"""How often a house is walked where nothing asks for more."""

from __future__ import annotations

WALK_EVERY_D = 7
