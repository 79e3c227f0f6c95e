"""Which nozzle and which plate a bed asks for, and which of its own a printer puts on for it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from planner.errors import RecordError
from planner.model.checks import number, words

HARDENED = "hardened"


@dataclass(frozen=True, slots=True)
class Fit:
    """What a recipe or a filament asks of a printer; what is empty is as the printer has it at the start.

    A hardened nozzle is one that fibres do not wear out; it prints every other filament, too.
    """

    nozzle_mm: float | None = None
    hardened: bool = False
    plate: str = ""

    def __post_init__(self) -> None:
        if self.nozzle_mm is not None:
            number(self.nozzle_mm, "nozzle_mm", low=0.05, high=5.0)
        if self.plate:
            words(self.plate, "plate")

    def __str__(self) -> str:
        """As a reader is told of it."""
        nozzle = "" if self.nozzle_mm is None else f"{self.nozzle_mm:g} mm"
        nozzle = f"{HARDENED} {nozzle}".strip() if self.hardened else nozzle
        told = [f"a {nozzle} nozzle"] if nozzle else []
        return " and ".join([*told, *([f"the plate {self.plate!r}"] if self.plate else [])])


ANY = Fit()


@dataclass(frozen=True, slots=True)
class Nozzle:
    """One that a printer has."""

    mm: float
    hardened: bool = False

    def __str__(self) -> str:
        """As it is written: "0.6" or "0.4 hardened"."""
        return f"{self.mm:g}{' ' + HARDENED if self.hardened else ''}"

    def serves(self, mm: float, hardened: bool) -> bool:
        """Whether a bed that asks for that can be printed with it."""
        return self.mm == mm and (self.hardened or not hardened)


def nozzle_of(text: str, key: str) -> Nozzle:
    """A nozzle as it is written.

    Raises
    ------
    RecordError
        naming how it is written rightly
    """
    found = re.fullmatch(r"(\d{1,2}(?:\.\d{1,4})?)( hardened)?", text.strip())
    if found is None:
        raise RecordError(
            f"{key} = {text!r} is no nozzle.", next_step='Write it like "0.6" or "0.4 hardened".'
        )
    number(float(found[1]), key, low=0.05, high=5.0)
    return Nozzle(float(found[1]), bool(found[2]))
