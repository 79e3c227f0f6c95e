"""Pieces that shall come from one lot of their filament, and from which they come."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class OneLot:
    """The pieces of a section that asks for one lot; ``before`` are spools that others of them came from."""

    section: str
    pieces: frozenset[str]
    before: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SectionLots:
    """Lots of one filament in a section that asks for one, that with most pieces first.

    A lot that is not told is called by its spool; spools that are bought count as one lot, told as ``new``.
    Pieces of a bed whose spool changes in mid-run stand with both.
    """

    section: str
    filament: str
    lots: tuple[tuple[str, tuple[str, ...]], ...]
