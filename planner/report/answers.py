"""The six answers in words: one source for the terminal, the first sheet and the web page."""

from __future__ import annotations

from dataclasses import dataclass

from planner.model.plan import Plan
from planner.model.schedule import RUNNING
from planner.report.lived import nine_tenths
from planner.report.lookup import Lookup
from planner.report.several import balances_told, late_told, weights_told
from planner.report.shopping import spools_to_buy
from planner.report.words import (
    UNKNOWN,
    count,
    day_time,
    grams,
    grams_range,
    money,
    short_time,
)
from planner.units import grams_text, hours_text

NOT_PRINTED = ("fittings", "finish")  # kinds of cost lines that no printer makes

FINISHED = "Finished"  # the answer that others find by its label
SHORT_H = 10.0  # print hours below which minutes are told
_LOOSE = 0.5  # a gap above it proves nothing that is worth a number


@dataclass(frozen=True, slots=True)
class Answer:
    """One question answered: the answer itself, then what qualifies it; ``act`` wants action."""

    label: str
    short: str
    more: tuple[str, ...] = ()
    act: bool = False


def title(plan: Plan) -> str:
    """The first line: what is planned, how much of it, with which options."""
    options = [f"option {key} = {value}" for key, value in plan.airframe.options.items()]
    if plan.airframes:
        options = [count(len(plan.airframes), "airframe")]
    return ", ".join(
        [
            f"{plan.airframe.name} - {count(len(plan.parts), 'part')}",
            count(len(plan.pieces), "piece"),
            *options,
        ]
    )


def answers(plan: Plan) -> tuple[Answer, ...]:
    """The seven lines Fits, Finished, Weighs, Balances, Buy, Costs and Start, in this order.

    A plan that goes on from an earlier one says after Finished what changed.
    """
    return (
        _fits(plan),
        _finished(plan),
        *_changed(plan),
        _weighs(plan),
        _balances(plan),
        _buy(plan),
        _costs(plan),
        _start(plan),
    )


def without(plan: Plan) -> str:
    """What hours, spools and money leave out, in words; empty where every piece lies on a bed."""
    if not plan.misfits:
        return ""
    part_of = {piece.name: piece.part for piece in plan.pieces}
    names = {misfit.piece for misfit in plan.misfits}
    lost = sum(plan.deposits[part_of[n]].mass_g for n in names if part_of.get(n) in plan.deposits)
    verb = "fits" if len(names) == 1 else "fit"
    return f"without {count(len(names), 'piece')} that {verb} no bed ({grams(lost)})"


def _fits(plan: Plan) -> Answer:
    used = {run.printer for run in plan.schedule.runs}
    beds = f"{count(len(plan.batches), 'bed')} on {count(len(used), 'printer')}"
    aside = f"{count(len(plan.set_aside), 'mesh', 'meshes')} set aside" if plan.set_aside else ""
    if not plan.batches and plan.past:
        return Answer("Fits", "every bed is printed", (aside,) if aside else ())
    if not plan.batches:
        return Answer("Fits", "nothing to print", (aside,) if aside else (), act=True)
    if plan.misfits:
        verb = "fits" if len(plan.misfits) == 1 else "fit"
        short = f"no: {len(plan.misfits)} of {count(len(plan.pieces), 'piece')} {verb} no bed"
        return Answer("Fits", short, tuple(t for t in (f"the rest: {beds}", aside) if t), act=True)
    over = sum(past.outcome == "done" for past in plan.past)
    begun = sum(run.mark == RUNNING for run in plan.schedule.runs)
    running = f"{begun} of them {'prints' if begun == 1 else 'print'} now" if begun else ""
    printed = f"{count(over, 'bed')} printed before" if over else ""
    more = tuple(text for text in (running, printed, aside) if text)
    return Answer("Fits", f"yes: {beds}", more, act=bool(aside))


def proof(plan: Plan) -> str:
    """How far the finish is from what is proved, in words."""
    gap = plan.schedule.proven_gap
    if gap is None:
        return "not proved"
    if gap <= 0.0:
        return "proved: none is sooner"
    if gap > _LOOSE and plan.schedule.lower_bound_h is not None:
        return f"not proved (bound {plan.schedule.lower_bound_h:.0f} h)"
    return f"proved within {100 * gap:.1f} %"


def _finished(plan: Plan) -> Answer:
    schedule = plan.schedule
    if not schedule.runs and plan.past:
        return Answer(FINISHED, day_time(schedule.finish, plan), ("every bed is printed",))
    if not schedule.runs:
        return Answer(FINISHED, UNKNOWN, ("no bed is scheduled",), act=True)
    hours = sum(schedule.print_hours.values())
    told = f"{hours:.0f} print hours" if hours >= SHORT_H else f"{hours_text(60.0 * hours)} of printing"
    visits = count(len(schedule.visits), "visit")
    facts = (told, proof(plan), f"{visits}, {sum(v.minutes for v in schedule.visits)} min")
    short = f"{day_time(schedule.finish, plan)}{_against(plan)}"
    late = late_told(plan)
    return Answer(
        FINISHED, short, _told(nine_tenths(plan.risk, plan), "; ".join(facts), late), act=bool(late)
    )


def _against(plan: Plan) -> str:
    """The finish of the plan before, and the difference; nothing where there was none before."""
    if plan.replan is None:
        return ""
    before = plan.replan.earlier_finish
    minutes = round((plan.schedule.finish - before).total_seconds() / 60.0)
    if minutes == 0:
        return ", as before"
    side = "later" if minutes > 0 else "earlier"
    return f", {hours_text(abs(minutes))} {side} than before ({short_time(before, plan)})"


def _changed(plan: Plan) -> tuple[Answer, ...]:
    """What is different from the plan before, the beds named as far as there is room."""
    made = plan.replan
    if made is None:
        return ()
    words = []
    for kind, text in (("failed", "failed"), ("new", "new"), ("moved", "moved"), ("dropped", "gone")):
        beds = [change.batch for change in made.changes if change.kind == kind]
        if beds:
            more = f" and {len(beds) - 4} more" if len(beds) > 4 else ""
            words.append(f"{', '.join(beds[:4])}{more} {text}")
    stay = sum(change.kind == "stays" for change in made.changes)
    kept = f"{stay} of {count(made.open_batches, 'open bed')} {'stays' if stay == 1 else 'stay'}"
    short = "; ".join(words) or "nothing"
    return (Answer("Changed", short, (kept,) if made.open_batches else ()),)


def _weighs(plan: Plan) -> Answer:
    mass = plan.mass
    if plan.airframes:
        told, heavy = weights_told(plan)
        together = f"together {grams_range(mass.total_g, mass.low_g, mass.high_g)}"
        return Answer("Weighs", told, (f"{together}; printed {grams(mass.printed_g)}",), act=heavy)
    if not mass.items:
        return Answer("Weighs", UNKNOWN, ("nothing has a mass",), act=True)
    short = grams_range(mass.total_g, mass.low_g, mass.high_g)
    printed = f"printed {grams(mass.printed_g)}"
    if plan.misfits:
        printed += ", with " + without(plan).removeprefix("without ")
    if mass.target_g is None:
        return Answer("Weighs", short, (f"no target given; {printed}",))
    over = mass.total_g - mass.target_g
    side = f"{grams(abs(over))} {'over' if over > 0 else 'under'}"
    short += f", target {grams_text(mass.target_g)}"
    return Answer("Weighs", short, (f"{side}; {printed}",), act=over > 0)


def _balances(plan: Plan) -> Answer:
    balance = plan.balance
    if plan.airframes:
        told, outside = balances_told(plan)
        return Answer("Balances", told, ("each aft of its own datum",), act=outside)
    loose = f"{grams(balance.unplaced_g)} unplaced" if balance.unplaced_g > 0 else ""
    if balance.station_mm is None:
        return Answer(
            "Balances", UNKNOWN, (f"no part or fitting has a station; {loose}".rstrip("; "),), act=True
        )
    side = "aft of" if balance.station_mm >= 0 else "ahead of"
    short = f"{abs(balance.station_mm):.0f} mm {side} the {plan.airframe.datum}"
    if balance.window_mm is None:
        return Answer("Balances", f"{short} (no window given)", (loose,) if loose else ())
    low, high = balance.window_mm
    where = "" if balance.inside else "outside the "
    short = f"{short} ({where}window {low:g} - {high:g})"
    return Answer("Balances", short, (loose,) if loose else (), act=not balance.inside)


def buying_text(plan: Plan) -> str:
    """What new spools beyond those that the grams need do to the finish, with their price; else nothing."""
    made = plan.schedule.buying
    if made is None:
        return ""
    spools = f"{count(made.spools, 'more spool')}"
    if made.price_minor is not None:
        spools += f" ({money(made.price_minor, plan.workshop.currency)})"
    if made.other_finish is None:
        return f"{spools}: without, no order of the beds was found"
    hours = f"{hours_text(60.0 * made.sooner_h)} earlier"
    other = day_time(made.other_finish, plan)
    if made.bought:
        return f'{spools} for {hours}: use one spool at a time (buy = "never") and finish on {other}'
    return f"one spool at a time; {spools} would be for {hours}, on {other}"


def _buy(plan: Plan) -> Answer:
    bought = spools_to_buy(plan)
    if not plan.batches and plan.past:
        return Answer("Buy", "no filament: every bed is printed")
    if not plan.batches:
        return Answer("Buy", UNKNOWN, ("nothing to print",))
    if not bought:
        return Answer(
            "Buy", "no filament: the shelf covers all of it", _told(without(plan), buying_text(plan))
        )
    text = ", ".join(f"{number} x {name} {size:.0f} g" for name, size, number, _ in bought)
    from_shelf = any(not use.bought and use.grams_used > 0 for use in plan.spools)
    return Answer(
        "Buy",
        text + ("; shelf covers the rest" if from_shelf else ""),
        _told(without(plan), buying_text(plan)),
    )


def _told(*words: str) -> tuple[str, ...]:
    return tuple(text for text in words if text)


def printed_minor(plan: Plan) -> int:
    """The part of the total that printing costs: all kinds but fittings and finish."""
    return sum(minor for kind, minor in plan.cost.totals_minor.items() if kind not in NOT_PRINTED)


def _costs(plan: Plan) -> Answer:
    cost = plan.cost
    missing = f"{count(len(cost.left_out), 'line has', 'lines have')} no price" if cost.left_out else ""
    if not any(line.amount_minor is not None for line in cost.lines):
        return Answer("Costs", UNKNOWN, _told(missing or "no price is known", without(plan)))
    printed = printed_minor(plan)
    if printed == cost.total_minor:
        return Answer("Costs", money(cost.total_minor, cost.currency), _told(missing, without(plan)))
    short = f"{money(printed, cost.currency)} printed, {money(cost.total_minor, cost.currency)} with fittings"
    return Answer("Costs", short, _told(missing, without(plan)))


def _start(plan: Plan) -> Answer:
    if not plan.schedule.runs and plan.past:
        return Answer("Start", "nothing: every bed is printed")
    if not plan.schedule.runs:
        return Answer("Start", UNKNOWN, ("no bed is scheduled",))
    look = Lookup(plan)
    waiting = [run for run in plan.schedule.runs if run.mark != RUNNING]
    if not waiting:
        return Answer("Start", "nothing: what is left prints now")
    run = min(waiting, key=lambda r: (r.start.timestamp(), r.name))
    batch = look.batch[run.batch]
    spools = " and ".join(draw.spool for draw in run.draws)
    minutes = (run.end - run.start).total_seconds() / 60.0
    return Answer(
        "Start",
        f'{short_time(run.start, plan)}  {run.batch} on "{run.printer}"',
        (f"{batch.filament} from {spools}" if spools else batch.filament, hours_text(minutes)),
    )
