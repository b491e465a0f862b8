"""Temperatures of a house."""

from __future__ import annotations


def preview() -> None:
    """p"""


def import_file() -> None:
    """i"""


def typed() -> None:
    """t"""
