"""Every rule of the checks of whole plans: a sound plan, broken in just that way, and the sentence about it.

Sentences stand here with ``{}`` for what differs; `test_every_rule.py` holds that none is missing.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from planner.model.batch import Unplaced
from planner.model.budget import Ballast, Move, OptionEffect
from planner.model.fit import Fit
from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.model.replan import Change, PastRun, Replan, Slot
from planner.model.schedule import Buying
from planner.pipeline.verify import faults
from planner.pipeline.verify_balance import weight_faults
from planner.pipeline.verify_beds import bed_faults
from planner.pipeline.verify_build import build_faults
from planner.pipeline.verify_costs import costing_faults
from tests.sound_plan import NOW, put, small_plan


@dataclass(frozen=True)
class From:
    """What is made of the sound plan, once that is there."""

    made: Callable[[Plan], Any]


Step = tuple[str, Any]
Row = tuple[Sequence[Step], str]
HOUR = timedelta(hours=1)


def up(by: Any) -> Callable[[Any], Any]:
    """So much more."""
    return lambda old: old + by


def but(*at: int) -> Callable[[tuple[Any, ...]], tuple[Any, ...]]:
    """Without those."""
    return lambda old: tuple(one for n, one in enumerate(old) if n not in at)


def twice(at: int) -> Callable[[tuple[Any, ...]], tuple[Any, ...]]:
    """One of them once more, at the end."""
    return lambda old: (*old, old[at])


def first(new: str) -> Callable[[tuple[str, ...]], tuple[str, ...]]:
    """Another first one."""
    return lambda old: (new, *old[1:])


def of(name: str, **changes: Any) -> Callable[[Any], Any]:
    """The thing of that name otherwise."""
    return lambda all_of: tuple(replace(o, **changes) if o.name == name else o for o in all_of)


def cost_line(line: str, **changes: Any) -> Step:
    """A line of the sheet otherwise."""
    return (
        "cost.lines",
        lambda lines: tuple(replace(li, **changes) if li.what == line else li for li in lines),
    )


def past(outcome: Any = "done", **more: Any) -> Step:
    """The first bed is over, too."""
    return "past", From(lambda p: (PastRun(p.schedule.runs[0], p.batches[0], outcome, **more),))


def went_on(**changes: Any) -> Step:
    """It goes on from a plan just like it."""

    def made(plan: Plan) -> Replan:
        slots = {run.batch: Slot(run.printer, run.start, run.end) for run in plan.schedule.runs}
        stays = tuple(Change(bed, "stays", slot, slot) for bed, slot in slots.items())
        finish = plan.schedule.finish
        return replace(Replan("", 4.0, finish, finish, len(stays), 0, True, stays), **changes)

    return "replan", From(made)


KEEL = Unplaced("fuselage", "z", 14.5, "lay it down")
SPOOLS = Buying(1, 3800, 1.0, None, bought=True)

PIECES: list[Row] = [
    ([("pieces", but(0))], "{}{}: {} wanted, {} planned"),
    ([("pieces", but(0))], "the mass does not count every piece just once"),
    ([("batches.0.layer_height_mm", 0.3)], "{} mixes filaments or layer heights: {}"),
    ([("batches.0.fit", Fit(0.6))], "{} is printed with nozzle and plate {}, but {} asks for {}"),
    ([("batches.0.machine_file", "bed_1.txt")], "{} goes by {}, {} is told"),
    ([("batches.0.mass_g", up(0.1))], "{}: {} g is told, its pieces weigh {} g"),
    ([("workshop.longest_run_h", 1.0)], "{} lasts {} h, longest_run_h = {}"),
    ([("workshop.printers.0.most_pieces", 4)], "{} holds {} pieces, most_pieces = {}"),
    ([("parts", of("fuselage", alone=True))], "{} holds a piece that lies alone, and {} more"),
    (
        [("workshop.mix_sections", False), ("pieces", of("clip 1", section="tail"))],
        "{} mixes sections: {}",
    ),
    (
        [
            ("workshop.pairs_together", True),
            ("batches.0.placed", From(lambda p: (*p.batches[0].placed, p.batches[1].placed[1]))),
            ("batches.1.placed", but(1)),
        ],
        "{} of {} pairs of {} are parted",
    ),
    ([went_on(), ("schedule.runs.0.mark", "running")], "{} is printed, and nothing is remembered of it"),
    ([("schedule.runs.0.mark", "running")], "{} is said to run, and no plan was made before this one"),
    ([("schedule.runs.0.mark", "over")], "{} is marked {}, which is no mark"),
    ([("mass.items.0.section", "tail")], "{} is weighed with {}, it is of {}"),
    ([("mass.items.0.mass_g", up(0.01))], "{} counts {} g, but is {} g"),
    (
        [("printed", (PrintedPiece("fuselage", "bed 1", None, 9.0, 9.0, "PLA", "plain"),))],
        "{} is remembered as printed, but no bed has left it",
    ),
    (
        [past(), ("schedule.runs", ()), ("schedule.finish", up(HOUR))],
        "the finish is not when the last bed ended",
    ),
    ([past()], "{} prints {}, which is there already"),
    ([went_on(), ("replan.changes.0.kind", "new")], "{} is told as {}, it is {}"),
    ([went_on(moved=1)], "{} beds are told to move, {} do"),
    (
        [went_on(), ("schedule.runs.0.start", up(HOUR)), ("schedule.runs.0.end", up(HOUR))],
        "{} does not run where the changes say",
    ),
    (
        [went_on(), ("replan.best", up(HOUR))],
        "{} is told as the best finish, and the plan ends sooner",
    ),
    (
        [
            past(),
            ("printed", (PrintedPiece("fuselage", "bed 9", None, 9.0, 9.0, "PLA", "plain"),)),
        ],
        "{} is told from {}, which did not print it",
    ),
    (
        [went_on(best=NOW, tolerance_h=0.5)],
        "{} ends later than the tolerated delay allows",
    ),
]

BEDS: list[Row] = [
    ([("batches.0.height_mm", up(0.1))], "{} is told to be {} mm high, its tallest piece is {}"),
    ([("batches.0.fill", up(0.01))], "{} is told to be filled to {}, its outlines cover {}"),
    ([("batches.1.name", "bed 1")], "two beds have one name"),
    ([("pieces.1.name", "wing L L")], "two pieces have one name"),
    ([("pieces.0.hand", "right")], "{} is told as a {} hand, it is {}"),
    ([("pieces.1.section", "left wing")], "{} is told to be of {}, it is of {}"),
    ([("pieces.0.part", "?")], "{} is of {}, which is no part of the plan"),
    ([("batches.0.filament", "wood")], "{} is printed in {}, which is no filament of the workshop"),
    ([("batches.0.printer_kind", "?")], "{} is for {}, which is no kind of printer of the workshop"),
    ([("batches.0.placed.0.piece", "?")], "{} holds {}, which is no piece of the plan"),
    ([("schedule.runs.0.batch", "?")], "{} prints {}, which is no bed of the plan"),
    ([past(), ("past.0.run.batch", "?")], "{} is over and printed {}, told is {}"),
    ([("parts.0.copies", 2)], "{} is planned otherwise than the airframe asks for"),
    ([("parts.0.filament", "wood")], "{} is planned without what it takes"),
    ([("deposits.fuselage.mass_g", up(0.1))], "{} is told to take {} g, its volume weighs {} g"),
    (
        [("deposits.fuselage", lambda d: replace(d, mass_g=0.0))],
        "{} lies on a bed, and nothing of it is printed",
    ),
    ([("deposits.fuselage.support_s.small", 1.0)], "{} is told to print support for {} s of its {} s"),
    ([("deposits.fuselage.extents_mm.0", up(1.0))], "{} is told to be {} mm wide, its outline is {}"),
    ([("deposits.fuselage.filament_m", up(0.1))], "{} is told to take {} m of filament, it takes {} m"),
    (
        [
            ("workshop.printers.0", lambda p: replace(
                p, one_at_a_time=True, head_radius_mm=1.0, head_height_mm=90.0, gantry_height_mm=90.0
            )),
            ("batches.0.placed", lambda old: old[::-1]),
        ],
        "{} prints a taller piece before a lower one, one at a time",
    ),
    ([("misfits", (KEEL,))], "{} fits nowhere as told, and lies in the middle of {}"),
    ([("misfits", (replace(KEEL, piece="keel"),))], "{} fits nowhere, and is no piece of the plan"),
]  # fmt: skip

SCHEDULE: list[Row] = [
    ([("schedule.makespan_h", up(0.1))], "the plan is told to last {} h, from start to finish are {} h."),
    ([("schedule.print_hours", {"small": 1.0})], "hours of printing are told of {}, not of every printer."),
    ([("schedule.print_hours.small", up(0.1))], "{} is told to print for {} h, its runs last {} h."),
    ([("schedule.changeovers", 1)], "{} changeovers are told, the runs make {}."),
    ([("schedule.runs.1.name", "run 1")], "two runs have one name."),
    ([("schedule.runs", lambda r: r[::-1])], "the runs are not told in the order in which they start."),
    ([("schedule.beds_bound_h", 9.0)], "no plan is told to last less than {} h, and this one lasts {} h."),
    ([("schedule.proven_gap", None)], "a bound is told without its gap, or a gap without its bound."),
    ([("schedule.proven_gap", up(0.01))], "the gap to the bound is told as {}, it is {}."),
    ([("schedule.runs.0.attended_start", False)], "the start of {} is told as {}, which it is not."),
    ([("spools.0.filament", "PETG")], "spool {} is told to hold {}, which it does not."),
    ([("spools.1.price_minor", 3900)], "spool {} is told to cost {}, its price is {}."),
    (
        [("schedule.buying", From(lambda p: replace(SPOOLS, other_finish=p.schedule.finish)))],
        "the spools beyond need save {} h as told, {} h in truth.",
    ),
    (
        [("schedule.buying", replace(SPOOLS, spools=2))],
        "{} spools are told to be bought beyond need, {} are.",
    ),
    (
        [("schedule.buying", replace(SPOOLS, price_minor=1, bought=False))],
        "{} spools are told to cost {}, which no prices make.",
    ),
]

TASKS: list[Row] = [
    ([("schedule.visits.0.tasks", first("see that spool 2 is on small"))],
     "a visit says {}, which no run asks for."),
    ([("schedule.visits.0.tasks", but(1))], "{}: no visit at {} says {}."),
    ([("schedule.visits.0.minutes", 26)], "the visit at {} ends at another time than its work."),
    ([("schedule.visits.1.tasks", twice(0))], "{} visits say {}."),
    ([("schedule.visits.0.tasks", first("take spool 1 off small"))],
     "{} starts with {} on {}, and draws from {}."),
    ([("schedule.visits.0.tasks", first("take new foaming PLA 1 off small"))], "{} at {}: {} is on it."),
    ([("schedule.visits.0.tasks", twice(2))], "{} at {}: that was on it before."),
]  # fmt: skip

ORDER: list[Row] = [
    ([("build_order.steps.0.pieces", first("keel"))], "{} is in the build order, and nothing prints it"),
    ([("build_order.steps", twice(0))], "{} stands in {} steps of the build order"),
    ([("build_order.steps.0.at", up(HOUR))], "{} can be taken at {}, and is told at {}"),
    ([("build_order.steps.0.runs", ("run 1",))], "{} is told from {}, it comes from {}"),
    ([("build_order.steps.0.runs", twice(0)), ("build_order.steps.0.runs", first("run 9"))],
     "the step at {} names a run that gives it nothing"),
    ([("build_order.steps.0.joints", (("wing L L", "keel"),))], "{} cannot be joined at {}"),
    ([("build_order.kits.0.pieces", but(0))], "the kits do not hold every piece just once"),
    ([("build_order.kits.0.section", "tail")], "the kit of {} holds pieces of another section"),
    ([("build_order.kits.0.missing", ("clip 1",))], "the kit of {} tells other pieces as missing than are"),
    ([("build_order.kits.0.ready", up(HOUR))], "the kit of {} is ready at {}, told is {}"),
    ([("build_order.steps.0.sections", but(0))], "{} is told complete at another step than its last piece"),
    ([("build_order.kits.1.joints", (("wing L L", "keel"),))],
     "the kit of {} names a joint with none of its pieces, or with a stranger"),
    ([("build_order.kits.0.fittings", ("motor",))],
     "the kit of {} holds other fittings than the airframe asks for"),
]  # fmt: skip

GOALS: list[Row] = [
    ([("choices.prefer", ("risk",))], "the goals are told in the order {} instead of {}"),
    ([("goals.0.unit", "days")], "goal {} is told in {}"),
    ([("goals.0.value", -1.0)], "goal {} is {}, less than nothing"),
    ([("goals.0.value", up(0.01))], "goal {} is told as {}, the runs make {}"),
]

BALLAST = Ballast(100.0, 60.0, "fuselage")
MOVE = Move("battery", 80.0, -10.0, 10.0, (-10.0, -5.0), 1.0)
GEARED: Step = (
    "airframe",
    lambda a: replace(a, choices={"landing": ("skid", "wheels")}, options={"landing": "skid"}),
)


def gear(**changes: Any) -> Step:
    """One choice of one option, as planned."""

    def made(plan: Plan) -> tuple[OptionEffect, ...]:
        own = OptionEffect("landing", "skid", True, plan.mass.total_g, plan.balance.station_mm, False)
        return (replace(own, **changes),)

    return "option_effects", From(made)


WEIGHTS: list[Row] = [
    ([("mass.target_g", 301.0)], "the target is told as {} g, the airframe asks for {} g"),
    ([("balance.window_mm", (30.0, 46.0))], "the window is told as {}, the airframe asks for {}"),
    ([("mass.items.7.up_mm", 3.0)], "{} weighs or sits otherwise than the airframe says"),
    ([("mass.items", but(7))], "{} fittings fly, the airframe asks for {}"),
    ([("balance.unplaced", ("battery",))], "what has no station is not what is told to have none"),
    ([("mass.low_g", up(-0.1))], "the mass is told as {} to {} g, its spreads make {} to {}"),
    ([("balance.high_mm", up(0.1))], "the balance is told as {}, its spreads make {} to {} mm"),
    ([("balance.left_g", up(0.1))], "{} g are told on the {}, its pieces weigh {} g"),
    ([("balance.across_mm", 1.0)], "the balance is told {} mm to the right, it is {}"),
    ([("balance.mean_chord_mm", 121.0)], "the mean chord is told as {} mm, the airframe says {}"),
    ([("airframe.mean_chord_le_mm", 5.0)], "its leading edge is told at {} mm, the airframe says {}"),
    ([("balance.percent_chord", up(0.1))], "the {} is told as {}, it is {}"),
    ([("balance.wing_cube_loading_kg_per_m3", up(0.1))], "the {} is told as {}, it is {}"),
    ([("balance.neutral_point_mm", 60.0)], "the {} is told as {}, it is {}"),
    ([("balance.sensitivity.0.moves_mm", up(0.1))], "ten grams at {} are told to move {} mm, they move {}"),
    ([("balance.moves.0.by_mm", up(1.0))], "{}, moved, balances at {} mm, told are {}"),
    ([("balance.moves", (MOVE,))], "{} is moved to {} mm, beyond its room"),
    ([("balance.moves.0.station_mm", up(1.0))], "{} is to be moved from {} mm, where it does not sit"),
    ([("balance.ballast.beside", "clip 1")], "ballast is told beside {}, which does not sit there"),
    ([("balance.sensitivity.0.what", "keel")], "ten grams are told at {}, which is nothing of the airframe"),
    ([("mass.items.8.section", "tail")], "{} is told to lie on {}"),
    ([("mass.items.0.finish", "glue")], "{} is told with a finish {}, which it is not"),
    ([("balance.ballast", BALLAST)],
     "with its ballast it balances at {} mm, not in the middle of the window"),
    ([gear()], "{} = {} is told as {}planned"),
    ([GEARED, gear(total_g=1.0)], "{} = {} weighs {} g as told, the plan {}"),
    ([GEARED, gear(station_mm=1.0)], "{} = {} is at {} mm, the plan at {}"),
    ([GEARED, gear(inside=True)],
     "{} = {} is told as inside: {}, which it is not"),
]  # fmt: skip

COSTS: list[Row] = [
    ([cost_line("PLA", quantity=Decimal("24.2"))], "the sheet counts {} {} of {}, the plan makes {}"),
    ([cost_line("energy, printing", quantity=Decimal("0.4"))],
     "the sheet counts {} {} of {}, the plan makes {}"),
    ([("schedule.runs.0.end", up(HOUR))], "the sheet counts {} {} of {}, the plan makes {}"),
    ([("spools.1.bought", False)], "the sheet counts {} {} of {}, the plan makes {}"),
    ([("cost.lines", but(8))], "the sheet counts {} {} of {}, the plan makes {}"),
    ([("workshop.person_price_per_hour", Decimal(9))], "the sheet counts {} {} of {}, the plan makes {}"),
    ([cost_line("glue", quantity=Decimal(3))], "the sheet counts {} g of {}, the airframe carries {}"),
    ([cost_line("glue", unit="l")], "the sheet has a line {} of {}, which is nothing of the plan"),
    ([cost_line("PLA", what="wood")], "the sheet has a line {} of {}, which is nothing of the plan"),
    ([cost_line("energy, printing (reprints)", what="PLA (reprints)", unit="g", quantity=Decimal(3))],
     "{}: {} {} are told, failures take {}"),
    ([cost_line("wear of small", unit_price=Decimal("0.11"))],
     "{} costs {} a {} as told, {} by the workshop"),
    ([cost_line("battery", unit_price=Decimal(18))],
     "{} x {} stand on no line of the sheet with their price"),
    ([("cost.currency", "CHF")], "the sheet is in {}, the workshop counts in {}"),
    ([("cost.by_section_minor.fuselage", up(1))], "the sections cost {} together, the total is {}"),
    ([("cost.by_section_minor", From(lambda p: {"tail": p.cost.total_minor}))],
     "{} costs something, and is no section of the airframe"),
]  # fmt: skip


def broken(steps: Sequence[Step]) -> Plan:
    """The sound plan with these fields otherwise."""
    plan: Plan = small_plan()
    for path, new in steps:
        plan = put(plan, path, new.made(plan) if isinstance(new, From) else new)
    return plan


def says(found: Sequence[str], sentence: str) -> bool:
    """Whether one of the sentences is that one, whatever stands for its braces."""
    pattern = re.compile(".*".join(map(re.escape, sentence.split("{}"))), re.DOTALL)
    return any(pattern.fullmatch(text) for text in found)


def _ids(rows: Sequence[Row]) -> list[str]:
    return [f"{steps[-1][0]}: {sentence}" for steps, sentence in rows]


def test_the_plan_is_sound() -> None:
    """Nothing is said of it, by any part of the check."""
    plan = small_plan()
    assert faults(plan) == ()
    effects = plan.option_effects
    assert [*bed_faults(plan, frozenset()), *build_faults(plan), *costing_faults(plan)] == []
    assert list(weight_faults(plan.airframe, plan.mass, plan.balance, effects)) == []


ALL = [*PIECES, *BEDS, *SCHEDULE, *TASKS, *ORDER, *GOALS, *WEIGHTS, *COSTS]


@pytest.mark.parametrize(("steps", "sentence"), ALL, ids=_ids(ALL))
def test_a_plan_broken_in_one_way_is_told_so(steps: Sequence[Step], sentence: str) -> None:
    """And nothing fails over what does not hang together any more."""
    assert says(faults(broken(steps)), sentence)


@pytest.mark.parametrize("value", [0.0019, -0.0019])
def test_a_fill_may_be_off_by_the_corners_of_a_drawn_circle(value: float) -> None:
    """And by no more."""
    assert faults(broken([("batches.1.fill", up(value))])) == ()


def test_what_cannot_be_drawn_square_is_left_to_the_search() -> None:
    """Full beds, filaments that nobody runs and limits are told in words, not in lengths."""
    for axis, cause in (("beds", ""), ("none", "it lasts too long"), ("filament", "")):
        misfit = replace(KEEL, axis=axis, cause=cause)
        assert list(bed_faults(broken([("misfits", (misfit,))]), frozenset())) == []
