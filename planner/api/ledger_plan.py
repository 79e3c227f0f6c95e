"""A plan on a ledger: which plan it goes on from, with which marks, spools and lessons."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.api.ledger_machine_files import with_files
from planner.api.ledger_place import LEDGER_FILE
from planner.api.reading import beside
from planner.api.several import is_several, name_of_all, own_ledgers, shared_workshop
from planner.api.since import KEPT_FILE, PLAN_FILE, SinceRequest
from planner.errors import RecordError

if TYPE_CHECKING:
    from planner.api.request import PlanRequest
    from planner.ledger.fact import Fact
    from planner.model.learned import Evidence
    from planner.model.replan import EarlierPlan
    from planner.pipeline.job import Job


@dataclass(frozen=True, slots=True)
class LedgerRead:
    """Every fact of a ledger that counts, and those that took others back."""

    path: Path
    facts: tuple[Fact, ...]
    taken: Mapping[int, int]
    last: int

    def of_beds(self, airframe: str, series: str | None = None) -> list[Fact]:
        """What became of beds and pieces of an airframe, in one series of plans or in any."""
        from planner.ledger.standing import OF_BEDS

        return [
            fact
            for fact in self.facts
            if fact.kind in OF_BEDS
            and fact.airframe == airframe
            and (series is None or fact.data.get("series") == series)
        ]


def ledger_of(request: PlanRequest) -> LedgerRead | None:
    """The ledger that is named, or lies beside the workshop file or the folder; ``None`` where there is none.

    Raises
    ------
    RecordError
        where one is named that is not there, or one that cannot be read
    """
    path = request.ledger or _found(request)
    if path is None:
        return None
    from planner.ledger.fact import TAKEN_BACK
    from planner.ledger.store import Ledger

    with Ledger(path) as ledger:
        everything = list(ledger.facts(everything=True))
    place = {fact.uid: fact.seq for fact in everything}
    back = {place[fact.takes_back]: fact.seq for fact in everything if fact.kind == TAKEN_BACK}
    facts = tuple(fact for fact in everything if fact.kind != TAKEN_BACK and fact.seq not in back)
    return LedgerRead(path, facts, back, everything[-1].seq if everything else 0)


def _found(request: PlanRequest) -> Path | None:
    if is_several(request) and len(request.sources) > 1:
        return _found_of_several(request)
    if request.workshop_file is not None:
        near = request.workshop_file.parent / LEDGER_FILE
        return near if near.is_file() else None
    first = request.sources[0]
    own = (first if first.is_dir() else first.parent) / LEDGER_FILE
    if own.is_file():
        return own
    workshop = beside(request, None, "workshop.toml")
    if workshop is not None:
        near = workshop.parent / LEDGER_FILE
        return near if near.is_file() else None
    return beside(request, None, LEDGER_FILE)


def _found_of_several(request: PlanRequest) -> Path | None:
    """The ledger beside the one workshop of several folders; one of a single folder tells only of that."""
    lone = own_ledgers(request, LEDGER_FILE)
    if lone:
        raise RecordError(
            "this ledger tells of one of the airframes alone, whose beds are in no plan of several.",
            where=str(lone[0]),
            next_step="Name the ledger of all of them: --ledger FILE.",
        )
    workshop = shared_workshop(request)
    near = None if workshop is None else workshop.parent / LEDGER_FILE
    return near if near is not None and near.is_file() else None


def gone_on(request: PlanRequest, read: LedgerRead | None) -> PlanRequest:
    """The request with the plan that it goes on from, where facts tell what became of beds of one.

    Raises
    ------
    RecordError
        where facts tell of beds of a plan that is not there any more
    """
    if read is None or request.anew:
        return request
    if request.since is not None:
        return request
    here = request.out / PLAN_FILE
    if here.is_file():
        from planner.io.results.plan_file import read_plan

        plan = read_plan(here)
        if read.of_beds(plan.airframe, plan.series):
            return replace(
                request, since=SinceRequest(_before(read, here, plan), tolerance_h=request.tolerance_h)
            )
    facts = read.of_beds(airframe_name(request))
    if not facts:
        return request
    told = Path(str(facts[-1].data.get("plan", "")))
    if told.is_file():
        from planner.io.results.plan_file import read_plan

        plan = read_plan(told)
        if plan.series == facts[-1].data.get("series"):
            return replace(
                request, since=SinceRequest(_before(read, told, plan), tolerance_h=request.tolerance_h)
            )
    if here.is_file():
        return request  # planned anew since: those facts were about beds that are no more
    raise RecordError(
        f"it tells of beds of {facts[-1].airframe!r}, whose plan is not at {told} any more.",
        where=str(read.path),
        next_step="Name the plan (--since DIR), or plan all of it anew (--anew).",
    )


def _before(read: LedgerRead, path: Path, plan: EarlierPlan) -> Path:
    """The plan, or the one before it where a fact that it counts was taken back since."""
    from planner.io.results.plan_file import read_plan

    wrong = [seq for seq, back in read.taken.items() if seq <= plan.taught.facts < back]
    if not wrong or not _matters(plan, wrong):
        return path
    kept = path.with_name(KEPT_FILE)
    if kept.is_file() and read_plan(kept).taught.facts < min(wrong):
        return kept
    raise RecordError(
        "a fact was taken back that this plan counts, and no plan from before it is there.",
        where=str(path),
        next_step="Name an earlier plan with --since, or plan all of it anew (--anew).",
    )


def _matters(plan: EarlierPlan, taken: list[int]) -> bool:
    """Whether anything in a plan may hang on what was taken back: it has beds that are over or run."""
    return bool(taken) and bool(plan.past or any(run.mark for run in plan.runs))


def airframe_name(request: PlanRequest) -> str:
    """The airframe as its file names it, else the folder; several of them together."""
    from planner.io.toml_file import read_toml

    if is_several(request):
        return name_of_all(request)
    if request.own.airframe is not None:
        return request.own.airframe.name
    path = beside(request, request.airframe_file, "airframe.toml")
    first = request.sources[0].resolve()
    fallback = first.name if first.is_dir() else first.stem
    table: Any = read_toml(path).values.get("airframe", {}) if path is not None else {}
    name = table.get("name") if isinstance(table, Mapping) else None
    return name if isinstance(name, str) else fallback


def with_ledger(
    job: Job,
    read: LedgerRead,
    request: PlanRequest,
    earlier: EarlierPlan | None,
    *,
    every_way: bool = False,
) -> tuple[Job, EarlierPlan | None]:
    """The job with spools, absences and lessons of the ledger; the earlier plan tells these no more.

    With ``every_way`` there are lessons for whatever could be printed, too.
    """
    from planner.io.results.plan_first import read_first
    from planner.ledger.accounts import accounts_of, drawn_by
    from planner.ledger.evidence import weighed_grams
    from planner.model.replan import EarlierTaught
    from planner.pipeline.coloured import coloured
    from planner.pipeline.taught import learned_for, taught_job

    facts = tuple(f for f in read.facts if not (f.data.get("told_at") and f.at > job.start))
    again = request.since.marks.again if request.since is not None else ()
    evidence = _evidence(job, facts, read.last, _gone(earlier, again))
    weighed = {name: weighed_grams(facts, name) for name in {fact.airframe for fact in facts}}
    learned = learned_for(job, evidence)
    from planner.api.ledger_spools import draws_corrected, with_accounts
    from planner.api.recording_drying import with_dried

    times = draws_corrected(learned, weighed, untaught=request.untaught)
    job = coloured(with_accounts(job, accounts_of(facts, job.start, times)), earlier)
    job = _away(job, facts)
    job, earlier = with_dried(job, earlier, facts)
    before = earlier.taught if earlier is not None else EarlierTaught()
    learned = learned_for(job, evidence, every_way=every_way, before=learned)
    job = taught_job(job, evidence, learned, before, untaught=request.untaught, every_way=every_way)
    note = f"{read.path.name} was read to its fact {read.last}"
    job = replace(job, assumptions=(note, *job.assumptions))
    job = with_files(job, facts, earlier)
    if earlier is not None and job.taught is not None:
        own = [f for f in facts if f.airframe == earlier.airframe and f.data.get("series") == earlier.series]
        drawn, first = drawn_by(own, job.start, times), read_first(Path(earlier.source))
        job = replace(job, taught=replace(job.taught, drawn=drawn, first=first))
        told = {name: grams for name, grams in earlier.told_g.items() if name not in job.accounts}
        earlier = replace(earlier, told_g=told)
    return job, earlier


def _gone(earlier: EarlierPlan | None, again: Collection[str]) -> set[tuple[str, str]]:
    """Pieces that were printed and are no more, by the marks of plans: each with the bed that it lay on."""
    if earlier is None:
        return set()
    beds = [*(past.batch for past in earlier.past), *earlier.batches]
    gone = {(placed.piece, bed.name) for bed in beds for placed in bed.placed if placed.piece in again}
    for past in earlier.past:
        left = set(past.delivered)
        gone |= {(one.piece, past.batch.name) for one in past.batch.placed if one.piece not in left}
    return gone


def _evidence(job: Job, facts: tuple[Fact, ...], last: int, gone: Collection[tuple[str, str]]) -> Evidence:
    from planner.ledger.evidence import runs_and_failures, timed_runs, weigh_ins_of, weighed_grams
    from planner.model.learned import Evidence

    filaments = {filament.name: filament for filament in job.workshop.filaments}
    heat_up = {printer.name: printer.heat_up_minutes for printer in job.workshop.printers}
    return Evidence(
        last,
        tuple(weigh_ins_of(facts, filaments)),
        weighed_grams(facts, job.airframe.name, gone),
        tuple(timed_runs(facts, heat_up)),
        tuple(runs_and_failures(facts)),
    )


def _away(job: Job, facts: tuple[Fact, ...]) -> Job:
    """What the ledger tells to be away, beside what the workshop file tells."""
    from planner.ledger.standing import absences_of
    from planner.model.away import Away, joined
    from planner.scheduling.problem.calendar import zone_of

    told: dict[tuple[str, str], list[Away]] = {}
    for one in absences_of(facts):
        told.setdefault((one.what, one.name), []).append(Away(one.since, one.until, one.why))
    zone, shop = zone_of(job.workshop.attendance, job.start), job.workshop

    def of(what: str, thing: Any) -> Any:
        more = told.get((what, thing.stock if what == "filament" else thing.name))
        return thing if more is None else replace(thing, away=joined(thing.away, more, zone))

    workshop = replace(
        shop,
        printers=tuple(of("printer", one) for one in shop.printers),
        filaments=tuple(of("filament", one) for one in shop.filaments),
        spools=tuple(of("spool", one) for one in shop.spools),
    )
    return replace(job, workshop=workshop) if told else job


def since_marks(request: SinceRequest, read: LedgerRead, earlier: EarlierPlan, job: Job) -> SinceRequest:
    """The request with the marks that facts give beside its own; its own hold where both speak of one bed."""
    from planner.api.since import moments
    from planner.ledger.standing import standing_of
    from planner.pipeline.replan.fitting import fitting

    facts = read.of_beds(earlier.airframe, earlier.series)
    standing = standing_of(fact for fact in facts if fact.seq > earlier.taught.facts)
    given = replace(request.marks, at=moments(request, job))
    marks = fitting(standing.marks(earlier, job.start), given, earlier, job.workshop, job.start)
    return replace(request, marks=marks, at={bed: when.isoformat() for bed, when in marks.at.items()})
