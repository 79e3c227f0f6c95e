"""What a plan is judged by, in order, and what it reached."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Goal:
    """One goal of a plan: its name, its place in the order, its value (less is better), and that in words."""

    name: str
    place: int
    value: float
    unit: str
    told: str
