"""A doubt that does not stop the work: said in words, kept in the result."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Weight = Literal["note", "doubt", "fault"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One sentence about one thing.

    ``note`` is good to know, ``doubt`` wants a look before printing, ``fault`` makes a number
    wrong or a piece unprintable. ``others`` are further meshes that it speaks of: it is of no use
    where one of them is not printed.
    """

    about: str
    text: str
    weight: Weight = "doubt"
    others: tuple[str, ...] = ()
