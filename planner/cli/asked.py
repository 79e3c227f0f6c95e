"""What the words of a command ask for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from planner.cli.exits import printable, say

if TYPE_CHECKING:
    from planner.api import PlanRequest, SinceRequest
    from planner.cli.options import Earlier, Kit, Results, Search
    from planner.model.risk import RiskAsked


def request_of(kit: Kit, search: Search | None = None, **rest: object) -> PlanRequest:
    """What is to be looked at or planned.

    Raises
    ------
    InputError
        for a choice of an option that chooses nothing, and an archive that cannot be unpacked
    """
    from planner.api import PlanRequest, computer_zone, default_cache, default_workers

    if search is not None:
        rest.update(
            options=options_of(search.option or []),
            start=search.start,
            effort=search.effort,
            seed=search.seed,
        )
    return PlanRequest(
        sources=tuple(_unpacked(path) for path in kit.sources),
        workshop_file=kit.workshop,
        airframe_file=kit.airframe,
        printers=tuple(kit.printer or ()),
        filament=kit.filament,
        workers=kit.jobs or default_workers(),
        unit=kit.unit,
        cluster=kit.cluster,
        cache_folder=None if kit.no_cache else kit.cache or default_cache(),
        zone=computer_zone(),
        **rest,  # type: ignore[arg-type]
    )


def _unpacked(path: Path) -> Path:
    """The path, or the folder of an archive: which one is said on the side, beside what is printed."""
    from planner.api import unpacked

    folder = unpacked(path, again=True)
    if folder != path:
        say(printable(f"unpacked  {path} into {folder}"), to_errors=True)
    return folder


def plan_request(kit: Kit, search: Search, results: Results, earlier: Earlier) -> PlanRequest:
    """What is to be planned, checked, and gone on from.

    Raises
    ------
    InputError
        for a choice that chooses nothing, marks without a plan, and tolerances that cannot be read
    """
    from planner.api import tolerance_of

    return request_of(
        kit,
        search,
        risk=risk_of(results),
        out=results.out,
        prefer=tuple(results.prefer.split(",")) if results.prefer is not None else (),
        verify=results.verify,
        copies=results.copies,
        every_days=results.every,
        since=since_of(earlier),
        ledger=earlier.ledger,
        untaught=earlier.untaught,
        anew=earlier.anew,
        tolerance_h=tolerance_of(earlier.tolerate),
    )


def risk_of(results: Results) -> RiskAsked | None:
    """The worlds in which the plan is to be lived through; ``None`` for none.

    Raises
    ------
    InputError
        for missed visits without worlds in which they could be missed
    """
    from planner.errors import InputError
    from planner.model.risk import RiskAsked

    if results.risk is None:
        if results.missed > 0.0:
            raise InputError(
                "missed visits count in simulated worlds only.",
                where="--missed",
                next_step="Add --risk 1000.",
            )
        return None
    return RiskAsked(results.risk, results.missed)


def worlds_asked(results: Results) -> RiskAsked:
    """The worlds in which the plan that is there is to be lived through.

    Raises
    ------
    InputError
        where their number is not told
    """
    from planner.errors import InputError

    if (asked := risk_of(results)) is None:
        raise InputError("in how many worlds is not told.", where="--risk-only", next_step="Add --risk 1000.")
    return asked


def since_of(earlier: Earlier) -> SinceRequest | None:
    """The plan to go on from, and what became of its beds; ``None`` for a first plan.

    Raises
    ------
    InputError
        for marks without a plan, and tolerances that cannot be read
    """
    from planner.api import SinceRequest, beds_and_times, tolerance_of
    from planner.errors import InputError
    from planner.model.replan import Marks

    timed = (earlier.done, earlier.failed, earlier.running)
    plain = (earlier.good, earlier.again, earlier.cleared, earlier.changed)
    told = [beds_and_times(tuple(names or ())) for names in timed]
    if earlier.since is None:
        if any(timed) or any(plain) or earlier.as_planned:
            raise InputError(
                "marks of beds need the plan that they belong to.",
                where="--since",
                next_step="Add --since out/plan.json.",
            )
        return None
    done, failed, running = (beds for beds, _ in told)
    good, again, cleared, changed = (tuple(names or ()) for names in plain)
    at = {bed: time for _, times in told for bed, time in times.items()}
    given = Marks(done, failed, running, good, earlier.as_planned, again, cleared=cleared, changed=changed)
    return SinceRequest(earlier.since, given, tolerance_of(earlier.tolerate), at)


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
