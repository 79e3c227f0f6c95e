"""Folders in the making and their locks, for the page, which starts processes that may die."""

from __future__ import annotations

from planner.io.results.left import clear_left, locked

__all__ = ["clear_left", "locked"]
