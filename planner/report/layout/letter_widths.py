"""How wide letters are at most: a sheet must keep its words whichever usual face sets them."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

# Advance widths of the printable ASCII letters, 1/1000 em.
# Source: Adobe Core 14 font metrics, Helvetica (Arial and Liberation Sans have the same).
_NARROW = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
]  # fmt: skip
# Source: DejaVu Sans 2.37, horizontal metrics table; as wide as faces of running text get.
_WIDE = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337,
    636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531,
    1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787,
    603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500,
    500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612,
    635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
]  # fmt: skip
_WIDEST = dict(zip(map(chr, range(32, 127)), map(max, _NARROW, _WIDE), strict=True))
_OTHER = 1110  # letters of other scripts and signs: none of a usual face is wider
BOLD = 1.15  # bold letters beside regular ones, on the safe side (DejaVu Sans: at most 1.15 in words)
_SAFETY = 1.01  # places of letters are rounded


class _Widths(dict[str, int]):
    """Widths of single letters; one that was not measured is looked at once."""

    def __missing__(self, letter: str) -> int:
        self[letter] = found = _other(letter)
        return found


_WIDTHS = _Widths(_WIDEST)


def units(text: str) -> float:
    """Width of a line in 1/1000 of its size, as wide as the widest of the measured faces sets it."""
    return units_of(thousandths(text))


def units_of(letters: int) -> float:
    """The same of the sum of its letters."""
    return _SAFETY * letters


@lru_cache(maxsize=65536)
def thousandths(text: str) -> int:
    """Sum of the widths of its letters, which is that of its words and of the blanks between them."""
    return sum(map(_WIDTHS.__getitem__, text))


def _other(letter: str) -> int:
    """A letter with a mark is as wide as the letter; a combining mark takes no room of its own."""
    if unicodedata.combining(letter):
        return 0
    plain = unicodedata.normalize("NFD", letter)[0]
    return _WIDEST.get(plain, _OTHER)
