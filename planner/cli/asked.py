"""What the words of a command ask for."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.actions import PlanRequest, SinceRequest


def request_of(
    sources: list[Path],
    workshop: Path | None,
    airframe: Path | None,
    printer: list[str] | None,
    filament: str | None,
    jobs: int | None,
    unit: str | None,
    **rest: object,
) -> PlanRequest:
    """What is to be planned, from the options that all commands share and their own."""
    from planner.actions import PlanRequest, computer_zone, default_workers

    return PlanRequest(
        sources=tuple(sources),
        workshop_file=workshop,
        airframe_file=airframe,
        printers=tuple(printer or ()),
        filament=filament,
        workers=jobs or default_workers(),
        unit=unit,
        zone=computer_zone(),
        **rest,  # type: ignore[arg-type]
    )


def since_of(
    plan: Path | None, marks: Sequence[list[str] | None], as_planned: bool, tolerate: str
) -> SinceRequest | None:
    """The plan to go on from, and what became of its beds; ``None`` for a first plan.

    Raises
    ------
    InputError
        for marks without a plan, and tolerances that cannot be read
    """
    from planner.actions import SinceRequest, beds_and_times, tolerance_of
    from planner.errors import InputError
    from planner.model.replan import Marks

    told = [beds_and_times(tuple(names or ())) for names in marks[:3]]
    done, failed, running = (beds for beds, _ in told)
    good, cleared, changed, again = (tuple(names or ()) for names in marks[3:])
    if plan is None:
        if any(marks) or as_planned:
            raise InputError(
                "marks of beds need the plan that they belong to.",
                where="--since",
                next_step="Add --since out/plan.json.",
            )
        return None
    at = {bed: time for _, times in told for bed, time in times.items()}
    given = Marks(done, failed, running, good, as_planned, again, cleared=cleared, changed=changed)
    return SinceRequest(plan, given, tolerance_of(tolerate), at)


def cache_of(folder: Path | None, no_cache: bool) -> Path | None:
    """Where estimates are kept."""
    from planner.actions import default_cache

    return None if no_cache else folder or default_cache()


def options_of(words: list[str]) -> dict[str, str]:
    """Choices of options, each as ``NAME=CHOICE``.

    Raises
    ------
    InputError
        for a word that chooses nothing
    """
    from planner.errors import InputError

    found: dict[str, str] = {}
    for word in words:
        key, equals, value = word.partition("=")
        if not (equals and key.strip() and value.strip()):
            raise InputError(
                f"{word!r} chooses nothing.",
                where="--option",
                next_step="Write it like --option nose=camera.",
            )
        found[key.strip()] = value.strip()
    return found
