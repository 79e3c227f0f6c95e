"""Facts as they are told: words to rows of the ledger, and what changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.api.ledger_place import LedgerPlace, moment, not_later
from planner.errors import RecordError

if TYPE_CHECKING:
    from planner.ledger.fact import Fact
    from planner.ledger.standing import Standing
    from planner.ledger.store import Ledger
    from planner.model.replan import EarlierPlan

VERBS = ("began", "done", "failed", "cleared", "changed", "weighed", "lost", "dried", "wet", "undo", "list")
HOW = 'Write it like: planner record "bed 3" failed --at 23:10'
RESOLUTION_G = 0.1  # of a kitchen scale; common practice, no source


@dataclass(frozen=True, slots=True)
class Told:
    """What is told in one command. ``words`` are the verb and what it is about, in either order.

    ``uid`` is that of whoever tells it, so that telling it again is known as such; ``takes_back`` the uid of
    the fact that ``undo`` means; ``series`` that of the plan whose beds are meant.
    """

    words: tuple[str, ...]
    at: str | None = None
    good: tuple[str, ...] = ()
    layer: int | None = None
    height_mm: float | None = None
    resolution_g: float = RESOLUTION_G
    supports_on: bool = False
    weigh_list: Path | None = None
    who: str = "terminal"
    uid: str = ""
    takes_back: str = ""
    series: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What was written, in sentences and as facts."""

    lines: tuple[str, ...]
    facts: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class _Desk:
    """All that turning words into facts needs to know."""

    told: Told
    plan: EarlierPlan
    ledger: Ledger
    standing: Standing
    at: datetime
    source: str

    def fact(self, kind: str, about: str, **data: Any) -> Fact:
        """A fact of this plan; the same words make the same fact until it was taken back."""
        from planner.ledger.fact import Fact, uid_of

        times = self.ledger.times_taken_back(kind, about, self.plan.airframe)
        when = self.at.isoformat() if self.told.at else ""
        said = {key: data[key] for key in ("good", "grams", "layer", "height_mm") if key in data}
        uid = uid_of(self.plan.series, self.plan.airframe, kind, about, when, said, times)
        kept = {key: value for key, value in data.items() if value is not None}
        kept |= {"plan": self.source, "series": self.plan.series}
        kept |= {"told_at": True} if self.told.at else {}
        return Fact(kind, about, self.at, uid, self.plan.airframe, self.told.who, data=kept)


def record(place: LedgerPlace, told: Told, now: datetime) -> Answer:
    """Write what is told to the ledger.

    Raises
    ------
    RecordError
        for words that are not understood, names that are not known, and what cannot have happened
    OutputError
        where the ledger cannot be written
    """
    from planner.ledger.names import nearest
    from planner.ledger.standing import standing_since
    from planner.ledger.store import Ledger

    verb, names = _verb(told.words)
    names = _joined(names)
    if (known := told_already(place, told.uid)) is not None:
        return known
    if verb == "undo":
        return _undone(place, names, told, now)
    if (told.good or told.layer is not None or told.height_mm is not None) and verb != "failed":
        raise RecordError("only a bed that failed has good pieces, a layer or a height.", where="--good")
    plan = place.earlier()
    if told.series and told.series != plan.series:
        raise RecordError(
            f"{' '.join(told.words)!r} was told of a plan that was made anew since; its beds are others.",
            where="planner record",
            next_step="Look at the plan of now, and tell it of that.",
        )
    at = now
    if told.at:
        at = not_later(moment(told.at, place.shop().attendance, now), now, lambda: plan.start)
    facts_of: Callable[[_Desk, Sequence[str]], list[tuple[Fact, str]]] = {
        "weighed": _weighed,
        "lost": _lost,
        "changed": _changed,
        "dried": lambda desk, names: _dried(desk, "dried", names),
        "wet": lambda desk, names: _dried(desk, "wet", names),
    }.get(verb, lambda desk, names: _beds(desk, nearest(verb, VERBS, "verb"), names))
    with Ledger(place.file, writing=True) as ledger:
        standing, source = standing_since(ledger, plan), str(place.plan_file.resolve())
        made = facts_of(_Desk(told, plan, ledger, standing, at, source), names)
        made = [(with_uid(fact, told.uid, n), line) for n, (fact, line) in enumerate(made)]
        fresh = [fact for fact, _ in made if not ledger.says(fact)]
        new = {fact.uid for fact in ledger.write(fresh)}
    lines = [line if fact.uid in new else f"{fact.about}: recorded already" for fact, line in made]
    return Answer((*lines, f"ledger: {place.file}"), tuple(fact for fact, _ in made if fact.uid in new))


def told_already(place: LedgerPlace, uid: str) -> Answer | None:
    """The answer to what was told before under the same uid, whatever became of it since."""
    from planner.ledger.reading import Reader

    if not uid or not place.file.is_file():
        return None
    with Reader(place.file) as ledger:
        if not ledger.knows(uid):
            return None
    return Answer(("recorded already", f"ledger: {place.file}"))


def with_uid(fact: Fact, uid: str, place: int = 0) -> Fact:
    """A fact under the uid of whoever tells it, in its place; it keeps the one that its words make."""
    if not uid:
        return fact
    return replace(fact, uid=f"{uid}-{place}" if place else uid, data={**fact.data, "said": fact.uid})


def _joined(words: Sequence[str]) -> list[str]:
    """Words with ``bed 3`` as one, as where nobody wrote quotes."""
    found: list[str] = []
    for word in words:
        if found and found[-1].casefold() == "bed" and word.isdigit():
            found[-1] = f"{found[-1]} {word}"
        else:
            found.append(word)
    return found


def _verb(words: Sequence[str]) -> tuple[str, list[str]]:
    """The verb, wherever it stands, and the rest."""
    import difflib

    for exact in (True, False):
        for n, word in enumerate(words):
            near = [word.casefold()] if exact else difflib.get_close_matches(word.casefold(), VERBS, 1, 0.75)
            if near and near[0] in VERBS:
                return near[0], [*words[:n], *words[n + 1 :]]
    raise RecordError(
        f"{' '.join(words)!r} tells nothing that happened.",
        where="planner record",
        next_step=f"Say one of {', '.join(VERBS)}. {HOW}.",
    )


def _beds(desk: _Desk, verb: str, names: Sequence[str]) -> list[tuple[Fact, str]]:
    from planner.ledger.names import nearest
    from planner.ledger.told_plan import bed_data, run_of

    if not names:
        raise RecordError(f"no bed is named that {verb}.", where="planner record", next_step=f"{HOW}.")
    plan = desk.plan
    known = [run.batch for run in plan.runs]
    past = [one.batch.name for one in plan.past]
    found = []
    for name in names:
        bed = nearest(name, [*known, *past], "bed")
        _refuse_what_cannot_be(desk, bed, verb)
        data = bed_data(plan, bed)
        pieces = [one["piece"] for one in data["pieces"]]
        if verb == "failed":
            good = [nearest(one, pieces, f"piece on {bed}") for one in desk.told.good]
            data |= {"good": sorted(set(good)), "layer": desk.told.layer, "height_mm": desk.told.height_mm}
        here = run_of(plan, bed)
        printer = here[0].printer if here else ""
        found.append((desk.fact(verb, bed, **data), _told_bed(desk, bed, verb, printer, data)))
    return found


def _told_bed(desk: _Desk, bed: str, verb: str, printer: str, data: dict[str, Any]) -> str:
    at = f" at {desk.at:%Y-%m-%d %H:%M}" if desk.told.at else ""
    count = len(data["pieces"])
    pieces = f"{count} piece{'' if count == 1 else 's'}"
    if verb == "failed":
        good = data["good"]
        saved = f"good all the same: {', '.join(good)}" if good else "nothing of it can be used"
        return f"{bed} failed on {printer}{at}; {saved}; the rest of {pieces} is to be printed again"
    if verb == "done":
        return f"{bed} is done on {printer}{at}: {pieces}"
    return f"{bed} {'runs on' if verb == 'began' else 'is off'} {printer}{at}"


def _refuse_what_cannot_be(desk: _Desk, bed: str, verb: str) -> None:
    """What the facts before it do not allow."""
    before = desk.standing.fates.get(bed)
    over = next((one for one in desk.plan.past if one.batch.name == bed), None)
    if verb == "cleared":
        if (before is None and over is None) or (before is not None and before.kind == "began"):
            raise RecordError(
                f"{bed} is not over, so it cannot have been cleared.",
                where="planner record",
                next_step=f'Say first what became of it: planner record "{bed}" done.',
            )
        return
    if over is not None:
        raise RecordError(f"{bed} is {over.outcome} in the plan already.", where="planner record")
    if before is not None and before.kind != verb and before.kind != "began":
        raise RecordError(
            f"{bed} is recorded as {before.kind}.",
            where="planner record",
            next_step=f'Take that back first: planner record undo "{bed}".',
        )
    if verb == "began":
        printer = {run.batch: run.printer for run in desk.plan.runs}
        busy = [
            other
            for other, fact in desk.standing.fates.items()
            if fact.kind == "began" and other != bed and printer.get(other) == printer[bed]
        ]
        if busy:
            raise RecordError(
                f"{busy[0]} runs on {printer[bed]} by the ledger.",
                where="planner record",
                next_step=f'Say first what became of it: planner record "{busy[0]}" done.',
            )


def _weighed(desk: _Desk, names: Sequence[str]) -> list[tuple[Fact, str]]:
    from planner.ledger.files import KINDS, files_since
    from planner.ledger.names import nearest
    from planner.ledger.told_plan import piece_data, pieces_of
    from planner.ledger.weigh_list import grams_of, read_weigh_list
    from planner.model.checks import number

    told = desk.told
    number(told.resolution_g, "--resolution", above=0.0, high=1000.0)
    rows = read_weigh_list(told.weigh_list) if told.weigh_list is not None else []
    if len(names) % 2 or not (names or rows):
        raise RecordError(
            "a weighing names pieces and their grams in turn.",
            where="planner record weighed",
            next_step='Write it like: planner record weighed "wing mid L" 29.8 "rib 1 + rib 2" 4.1',
        )
    pairs = zip(names[::2], names[1::2], strict=True)
    rows += [(piece, grams_of(grams, "planner record weighed")) for piece, grams in pairs]
    known, plan = pieces_of(desk.plan), desk.plan
    files = files_since(list(desk.ledger.facts(kinds=KINDS, airframe=plan.airframe, everything=True)), plan)
    found = []
    for words, grams in rows:
        lot = [
            nearest(word.strip(), known, "piece")
            for word in (words.split(" + ") if words not in known else [words])
        ]
        if len(set(lot)) < len(lot):
            raise RecordError(f"{words!r} names a piece twice.", where="planner record weighed")
        said = [piece_data(plan, piece, told.supports_on) for piece in lot]
        pieces = [files.held(one, told.supports_on) for one in said]
        fact = desk.fact(
            "weighed", " + ".join(lot), grams=grams, resolution_g=told.resolution_g,
            supports_on=told.supports_on, pieces=pieces,
        )  # fmt: skip
        by_file = [files.of_piece(one) is not None for one in said]
        whose = "machine file" if all(by_file) else "tables and machine file" if any(by_file) else "tables"
        line = _told_weight(fact.about, grams, sum(one["predicted_g"] for one in pieces), whose)
        found.append((fact, line + _bed_missing(desk, pieces)))
    return found


def _bed_missing(desk: _Desk, pieces: Sequence[dict[str, Any]]) -> str:
    """Beds of weighed pieces that are not told to be over: the pieces weigh that all the same."""
    over = {past.batch.name for past in desk.plan.past}
    over |= {bed for bed, fact in desk.standing.fates.items() if fact.kind != "began"}
    beds = list(dict.fromkeys(str(one["bed"]) for one in pieces if one["bed"] and one["bed"] not in over))
    if not beds:
        return ""
    return f"; {' and '.join(beds)} {'is' if len(beds) == 1 else 'are'} not recorded as done yet"


def _told_weight(about: str, grams: float, predicted: float, whose: str) -> str:
    off = 100.0 * (grams / predicted - 1.0) if predicted > 0.0 else 0.0
    more = f"{abs(off):.1f} % {'more' if off >= 0.0 else 'less'} than"
    return f"{about} weighs {grams:g} g, {more} the {predicted:.1f} g of the {whose}"


def _lost(desk: _Desk, names: Sequence[str]) -> list[tuple[Fact, str]]:
    from planner.ledger.names import nearest
    from planner.ledger.told_plan import bed_of

    if not names:
        raise RecordError("no piece is named that is lost.", where="planner record lost")
    there = {piece for past in desk.plan.past for piece in past.delivered}
    for fact in desk.standing.fates.values():
        if fact.kind in ("done", "failed"):
            on_bed = [str(one["piece"]) for one in fact.data.get("pieces", ())]
            there |= set(on_bed if fact.kind == "done" else fact.data.get("good", ()))
    found = []
    for name in names:
        piece = nearest(name, list(desk.plan.part_of), "piece")
        if piece not in there:
            bed = bed_of(desk.plan, piece)
            raise RecordError(
                f"{piece} is not printed yet{f'; it is on {bed}' if bed else ''}.",
                where="planner record lost",
                next_step=f'If it is: planner record "{bed}" done.' if bed else "",
            )
        found.append((desk.fact("lost", piece), f"{piece} is lost and will be printed once more"))
    return found


def _changed(desk: _Desk, names: Sequence[str]) -> list[tuple[Fact, str]]:
    from planner.ledger.names import nearest

    printers = list(dict.fromkeys(run.printer for run in desk.plan.runs))
    if not names:
        raise RecordError("no printer is named that was changed.", where="planner record changed")
    found = []
    for name in names:
        printer = nearest(name, printers, "printer")
        line = f"{printer} has the filament of its next bed on"
        found.append((desk.fact("changed", printer, printer=printer), line))
    return found


def _dried(desk: _Desk, kind: str, names: Sequence[str]) -> list[tuple[Fact, str]]:
    from planner.api.recording_drying import told_dry

    return told_dry(kind, names, desk.plan, desk.fact)


def _undone(place: LedgerPlace, names: Sequence[str], told: Told, now: datetime) -> Answer:
    from planner.ledger.fact import TAKEN_BACK, Fact, uid_of
    from planner.ledger.names import nearest
    from planner.ledger.store import Ledger

    with Ledger(place.file, writing=True) as ledger:
        known = {fact.about: fact for fact in ledger.facts()}
        last: Fact | None
        if not known and not told.takes_back:
            raise RecordError("the ledger holds nothing that could be taken back.", where=str(place.file))
        if told.takes_back:
            last = next((fact for fact in ledger.facts() if fact.uid == told.takes_back), None)
            if last is None:
                return Answer(("that is taken back already", f"ledger: {place.file}"))
        elif names:
            last = known[nearest(" ".join(names), list(known), "thing in the ledger")]
        else:
            last = max(known.values(), key=lambda fact: fact.seq)
        uid = uid_of(TAKEN_BACK, last.uid)
        back = Fact(TAKEN_BACK, last.about, now, uid, last.airframe, told.who, takes_back=last.uid)
        (written,) = ledger.write([back])
    line = f"taken back: {last.about} {last.kind} (of {last.at:%Y-%m-%d %H:%M})"
    return Answer((line, f"ledger: {place.file}"), (replace(written),))


def recorded(place: LedgerPlace, form: str) -> str:
    """All facts that count, as ``text``, ``csv`` or ``json``."""
    from planner.ledger.store import Ledger
    from planner.ledger.weigh_list import facts_csv, facts_json

    with Ledger(place.file) as ledger:
        facts = list(ledger.facts())
    if form == "csv":
        return facts_csv(facts)
    if form == "json":
        return facts_json(facts)
    rows = []
    for fact in facts:
        grams = fact.data.get("grams")
        told = f"  {grams:g} g" if isinstance(grams, (int, float)) else ""
        rows.append(f"{fact.at:%Y-%m-%d %H:%M}  {fact.kind:<13}  {fact.about}{told}")
    return "\n".join(rows) + "\n" if rows else "nothing is recorded yet\n"
