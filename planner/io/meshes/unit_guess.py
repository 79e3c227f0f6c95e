"""The unit of meshes that declare none, weighed over all of them at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.errors import InputError
from planner.units import LENGTH_MM

# Words that people write for the units of the 3MF core specification.
_WORDS = {
    "mm": "millimeter", "millimetre": "millimeter", "millimeters": "millimeter", "millimetres": "millimeter",
    "cm": "centimeter", "centimetre": "centimeter", "in": "inch", "inches": "inch", '"': "inch",
    "m": "meter", "metre": "meter", "meters": "meter", "metres": "meter", "ft": "foot", "feet": "foot",
    "um": "micron", "micrometer": "micron", "micrometre": "micron",
}  # fmt: skip
SHORT = {
    "millimeter": "mm",
    "centimeter": "cm",
    "inch": "inch",
    "meter": "m",
    "foot": "foot",
    "micron": "micron",
}

# Common practice, no source: the larger parts of a printed airframe are 50 to 300 mm long.
_TYPICAL_MM = 120.0
_SPREAD = 0.9  # of the natural logarithm of the length
_AGAINST = {"millimeter": 0.0, "inch": 2.0, "meter": 2.0, "centimeter": 4.0}
_FEW_FILES = 6.0  # weighs against leaving mm on the word of one file; half of it for two, and so on
_SURE = 1.5
SMALL_MM, LARGE_MM = 1.0, 2000.0  # a part outside of these is named as doubtful


@dataclass(frozen=True, slots=True)
class UnitGuess:
    """The unit taken, and the next best one when the two are close."""

    unit: str
    rival: str | None = None


def unit_named(word: str) -> str:
    """The 3MF word for a unit as people write it.

    Raises
    ------
    InputError
        when it is none of them
    """
    key = word.strip().casefold()
    key = _WORDS.get(key, key)
    if key not in LENGTH_MM:
        raise InputError(
            f"the unit {word!r} is not known.", next_step=f"Use one of: {', '.join(SHORT.values())}."
        )
    return key


def guess_unit(lengths: Sequence[float]) -> UnitGuess:
    """Weigh mm, inch, m and cm by how long the larger parts would be.

    ``lengths`` holds the longest side of each mesh in the unit of the files. The upper quartile
    speaks for them all, so that one small part among large ones stays small.
    """
    if not lengths:
        return UnitGuess("millimeter")
    many = len(lengths)
    typical = float(np.quantile(np.asarray(lengths, dtype=np.float64), 0.75))
    if not typical > 0.0:
        return UnitGuess("millimeter")
    weight = 1.0 if many <= 3 else 2.0
    scores = {}
    for unit, against in _AGAINST.items():
        off = np.log(typical * LENGTH_MM[unit] / _TYPICAL_MM) / _SPREAD
        handicap = against + (_FEW_FILES / many if unit != "millimeter" else 0.0)
        scores[unit] = -0.5 * weight * off * off - handicap
    best, second = sorted(scores, key=lambda unit: -scores[unit])[:2]
    return UnitGuess(best, second if scores[best] - scores[second] < _SURE else None)
