"""Crops of which the leaves themselves are sold: there a mummy is a contaminant."""

from __future__ import annotations

EATEN_AS_LEAVES = ("lettuce",)
