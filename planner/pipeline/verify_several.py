"""Independent checks of a plan of several airframes: each whole, in its beds, in time; sums add up."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from fractions import Fraction

from planner.model.plan import Plan
from planner.model.several import AirframeSums
from planner.pipeline.verify_balance import weight_faults
from planner.pipeline.verify_sums import balance_faults, finish_faults, mass_faults

_GRAMS = Fraction(1, 10**5)
_MINUTES = Fraction(1, 10**4)
_BY_GRAMS, _BY_OWNER = ("filament",), ("fittings", "finish")


def several_faults(plan: Plan) -> Iterator[str]:
    """One sentence for everything that does not hold; nothing to say of one airframe alone."""
    if [one.airframe for one in plan.airframes] != list(plan.airframe.members):
        yield "the airframes that are told are not those that are planned"
        return
    if not plan.airframes:
        yield from _alone(plan)
        return
    names = [one.airframe.name for one in plan.airframes]
    if len(set(names)) < len(names):
        yield "two airframes have one name"
    yield from _apart(plan)
    for one in plan.airframes:
        yield from _whole(plan, one)
        yield from _dates(plan, one)
        yield from (f"{one.airframe.name}: {fault}" for fault in _own_sums(plan, one))
    yield from _in_all(plan)
    yield from _shared(plan)
    yield from _repeats(plan)


def _alone(plan: Plan) -> Iterator[str]:
    """No piece is told of another airframe, and no bed repeats one; begun beds lie as they lie."""
    begun = {run.batch for run in plan.schedule.runs if run.mark == "running"}
    for piece in plan.pieces:
        if piece.airframe:
            yield f"{piece.name} is told of {piece.airframe}, and there is one airframe alone"
    for batch in plan.batches:
        if batch.repeats and batch.name not in begun:
            yield f"{batch.name} is told to repeat {batch.repeats}, and there is one airframe alone"


def _owner(plan: Plan, piece: str) -> str:
    """The airframe with whose name a piece begins."""
    names = [m.name for m in plan.airframe.members if piece.startswith(m.name + " / ")]
    return max(names, key=len, default="")


def _apart(plan: Plan) -> Iterator[str]:
    """Every piece is told of the airframe that its name begins with."""
    for piece in plan.pieces:
        if piece.airframe != _owner(plan, piece.name) or not piece.airframe:
            yield f"{piece.name} is told of {piece.airframe or 'no airframe'}"
    begun = {run.batch for run in plan.schedule.runs if run.mark == "running"}
    lone = {m.name for m in plan.airframe.members if not m.mix or not plan.workshop.mix_airframes}
    for batch in plan.batches:
        owners = {_owner(plan, placed.piece) for placed in batch.placed}
        if len(owners) > 1 and owners & lone and batch.name not in begun:
            yield f"{batch.name} mixes {', '.join(sorted(owners))}, which is forbidden"


def _whole(plan: Plan, one: AirframeSums) -> Iterator[str]:
    """Each of its chosen pieces is on just one bed, in hand, or named as one that fits nowhere."""
    name = one.airframe.name
    wanted = 0
    for part in one.airframe.parts:
        if part.option is None or one.airframe.options.get(part.option[0]) == part.option[1]:
            wanted += part.copies * (2 if part.mirror else 1)
    own = [piece.name for piece in plan.pieces if piece.airframe == name]
    if wanted != len(own) or wanted != one.pieces:
        yield f"{name}: {wanted} pieces wanted, {len(own)} planned, {one.pieces} told"
    places = [placed.piece for batch in plan.batches for placed in batch.placed]
    places += [misfit.piece for misfit in plan.misfits]
    for past in plan.past:
        good = [p.piece for p in past.batch.placed if past.outcome == "done" or p.piece in past.good]
        places += [piece for piece in good if piece not in past.scrapped]
    for piece in own:
        if places.count(piece) != 1:
            yield f"{piece} is printed {places.count(piece)} times"


def _dates(plan: Plan, one: AirframeSums) -> Iterator[str]:
    """It is printed when the last run with a piece of it ends, and late after the end of its day."""
    name = one.airframe.name
    beds = {past.batch.name: past.batch for past in plan.past} | {b.name: b for b in plan.batches}
    runs = [*(past.run for past in plan.past), *plan.schedule.runs]
    known = {piece.name for piece in plan.pieces}
    ends: list[tuple[float, str]] = []
    for run in runs:
        pieces = [p.piece for p in beds[run.batch].placed if p.piece in known]
        if any(_owner(plan, piece) == name for piece in pieces):
            ends.append((run.end.timestamp(), run.batch))
    last = max((end for end, _ in ends), default=None)
    told = None if one.finish is None else one.finish.timestamp()
    if told != last:
        yield f"{name} is told to be printed at another moment than its last bed"
    if {bed for _, bed in ends} != set(one.beds):
        yield f"{name} is told to lie on other beds than it does"
    due = one.airframe.due
    end = None
    if due is not None and one.finish is not None:
        end = datetime.combine(due + timedelta(days=1), time(0), tzinfo=one.finish.tzinfo)
    if one.late is not (end is not None and last is not None and last > end.timestamp()):
        yield f"{name} is told to be {'late' if one.late else 'in time'}, and is not"


def _own_sums(plan: Plan, one: AirframeSums) -> Iterator[str]:
    effects = [e for e in plan.option_effects if e.option.startswith(one.airframe.name + " / ")]
    yield from weight_faults(one.airframe, one.mass, one.balance, effects)
    yield from mass_faults(one.mass)
    yield from balance_faults(one.mass, one.balance)
    yield from finish_faults(one.airframe.finish, one.mass)
    if sum(one.by_kind_minor.values()) != one.cost_minor:
        yield "the kinds of cost do not add up to its share"


def _in_all(plan: Plan) -> Iterator[str]:
    """Grams, money and minutes of the airframes add up to those of the plan."""
    whole = sum((Fraction(one.mass.total_g) for one in plan.airframes), Fraction(0))
    if abs(whole - Fraction(plan.mass.total_g)) > _GRAMS:
        yield f"the airframes weigh {float(whole)} g together, {plan.mass.total_g} g is told"
    kinds = {kind for one in plan.airframes for kind in one.by_kind_minor} | plan.cost.totals_minor.keys()
    for kind in sorted(kinds):
        own = sum(one.by_kind_minor.get(kind, 0) for one in plan.airframes)
        if own != plan.cost.totals_minor.get(kind, 0):
            yield f"{kind} of the airframes adds up to {own} minor units, not to what is told"
    if sum(one.cost_minor for one in plan.airframes) != plan.cost.total_minor:
        yield "the costs of the airframes do not add up to the total"


def _shared(plan: Plan) -> Iterator[str]:
    """Money goes by the rule: filament by grams, machine work by minutes, fittings to their own."""
    runs = [*(past.run for past in plan.past), *plan.schedule.runs]
    beds = {past.batch.name: past.batch for past in plan.past} | {b.name: b for b in plan.batches}
    part_of = {piece.name: piece.part for piece in plan.pieces}
    minutes = {one.airframe.name: Fraction(0) for one in plan.airframes}
    grams: dict[tuple[str, str], Fraction] = {}
    for run in runs:
        bed = beds[run.batch]
        weights: dict[str, Fraction] = {}
        for placed in bed.placed:
            owner = _owner(plan, placed.piece)
            if placed.piece not in part_of or not owner:
                continue  # told of no airframe, which is said already
            deposit = plan.deposits[part_of[placed.piece]]
            key = bed.filament, owner
            grams[key] = grams.get(key, Fraction(0)) + Fraction(deposit.mass_g)
            timed = deposit.seconds.get(bed.printer_kind)
            weight = Fraction(deposit.mass_g if timed is None else sum(timed.tolist()))
            weights[owner] = weights.get(owner, Fraction(0)) + weight
        length = Fraction((run.end.timestamp() - run.start.timestamp()) / 60.0)
        for owner, weight in weights.items():
            minutes[owner] += length * weight / sum(weights.values())
    for one in plan.airframes:
        if abs(Fraction(one.minutes) - minutes[one.airframe.name]) > _MINUTES * (1 + len(runs)):
            yield f"{one.airframe.name} takes {float(minutes[one.airframe.name])} minutes, {one.minutes} told"
        exact: dict[str, Fraction] = {}
        lines: dict[str, int] = {}
        for line in plan.cost.lines:
            if line.amount_minor is None or not line.in_total:
                continue
            share = _share(plan, one.airframe.name, line.kind, line.what, grams, minutes)
            exact[line.kind] = exact.get(line.kind, Fraction(0)) + share * line.amount_minor
            lines[line.kind] = lines.get(line.kind, 0) + 1
        for kind, amount in exact.items():
            if abs(amount - one.by_kind_minor.get(kind, 0)) > lines[kind]:
                yield f"{one.airframe.name}: {kind} by the rule is {float(amount):.1f} minor units"


def _share(
    plan: Plan,
    name: str,
    kind: str,
    what: str,
    grams: dict[tuple[str, str], Fraction],
    minutes: dict[str, Fraction],
) -> Fraction:
    if kind in _BY_OWNER:
        return Fraction(_owner(plan, what) == name)
    if kind in _BY_GRAMS:
        filament = what.removesuffix(", purged")
        whole = sum((g for (f, _), g in grams.items() if f == filament), Fraction(0))
        if whole:
            return grams.get((filament, name), Fraction(0)) / whole
    every = sum(minutes.values())
    return minutes[name] / every if every else Fraction(1, len(minutes))


def _repeats(plan: Plan) -> Iterator[str]:
    """A bed that repeats another has its pieces in the same places, each of another copy."""
    beds = {batch.name: batch for batch in plan.batches}
    for batch in plan.batches:
        other = beds.get(batch.repeats)
        if not batch.repeats:
            continue
        if other is batch or (other is None and plan.replan is None):
            yield f"{batch.name} is told to repeat {batch.repeats}, which is no other bed of the plan"
        if other is None:  # of a plan that goes on it may be over, or laid anew
            continue
        lying = []
        for bed in (batch, other):
            own = [
                (p.piece.removeprefix(_owner(plan, p.piece)), p.x_mm, p.y_mm, p.turn_deg) for p in bed.placed
            ]
            lying.append((bed.filament, bed.printer_kind, sorted(own)))
        if lying[0] != lying[1]:
            yield f"{batch.name} is told to repeat {other.name}, and lies otherwise"
