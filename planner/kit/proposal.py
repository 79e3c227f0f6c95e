"""One thing that was found about a mesh of a raw kit."""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import InputError

SURE = 0.8  # from here on a proposal is written as it is, below it is a question
Value = str | int | bool | tuple[str, str | int] | tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Proposal:
    """A key of a ``[[part]]`` row, its value, why, and how sure that is.

    Parameters
    ----------
    mesh : name of the mesh
    key : ``section``, ``other_section``, ``recipe``, ``filament``, ``option``, ``copies``, ``stack``, ...
    value : as the key takes it; an option as (option, choice), a place in a stack as (stack, order), a seat
        as its twelve numbers
    reason : in words, to be shown
    confidence : from 0 to 1
    """

    mesh: str
    key: str
    value: Value
    reason: str
    confidence: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.confidence <= 1.0:
            raise InputError(f"confidence = {self.confidence} must lie between 0 and 1.")
        if not self.reason:
            raise InputError(f"a proposal for {self.mesh} needs its reason.")

    @property
    def sure(self) -> bool:
        """Whether it holds until somebody says otherwise; else it is a question."""
        return self.confidence >= SURE
