"""The pieces of a bed as they are drawn, whatever stands round the drawing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PieceShape:
    """A piece on paper: strokes of its outline with its openings, and of its turn mark."""

    outline: str
    tooth: str


@dataclass(frozen=True, slots=True)
class Lying:
    """The pieces of a bed in one scale: their shapes by name, and the elements of their lettering."""

    shapes: Mapping[str, PieceShape]
    names: tuple[str, ...]
