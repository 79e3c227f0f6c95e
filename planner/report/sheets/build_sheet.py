"""The build order: what can be glued after which visit, and what each section needs on the table."""

from __future__ import annotations

from markupsafe import Markup

from planner.model.build import BuildStep, Kit
from planner.model.schedule import Run
from planner.report.layout.blocks import Block, Cell, Column, Heading, Row, Table, Words, fine
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.words import UNKNOWN, count, day_time
from planner.units import grams_text
from planner.weights.fastened import fastened_by

_STEPS = (Column("", 6.0), Column("what to do", 164.0))
_KIT = (
    Column("", 6.0),
    Column("piece or fitting", 78.0),
    Column("bed", 28.0),
    Column("there after", 42.0),
    Column("g", 16.0, "right"),
)
_BOX = Markup('<i class="box"></i>')
_QUESTION = "What can be glued when?"


def build_sheets(look: Lookup) -> list[Sheet]:
    """Visit by visit what the beds deliver, then one kitting list a section."""
    plan = look.plan
    order = plan.build_order
    if not order.kits:
        nothing: list[Block] = [Words("Nothing to build.", "act")]
        return laid_out("Build order", _QUESTION, "nothing", nothing)
    blocks: list[Block] = [
        Words(
            "Trial-fit before gluing. A joint, glued or hinged, can be made when both sides are printed and"
            " cooled. Join: neighbours in a stack. Fit: faces that touch as they are drawn; glue, screw or"
            " hinge them, or leave them free to move, as the airframe asks. Fasten: detachable, no glue. Mind"
            " the cautions on glue and fumes.",
            "quiet",
        )
    ]
    if order.steps:
        rows = tuple(row for step in order.steps for row in _step(look, step))
        blocks += [Heading("After each visit"), Table(_STEPS, rows)]
    blocks += [
        Heading("Kitting lists"),
        Table(_KIT, tuple(row for kit in order.kits for row in _kit(look, kit))),
    ]
    shows = f"{count(len(order.kits), 'section')}, {count(len(plan.pieces), 'piece')}"
    return laid_out("Build order", _QUESTION, shows, fine(blocks))


def _step(look: Lookup, step: BuildStep) -> list[Row]:
    runs = {past.run.name: past.batch.name for past in look.plan.past}
    runs |= {run.name: run.batch for run in look.plan.schedule.runs}
    beds = ", ".join(dict.fromkeys(runs[name] for name in step.runs if name in runs))
    there = all(piece in look.printed_on for piece in step.pieces)
    when = "printed before" if there else day_time(step.at, look.plan)
    verb = "there already" if there else "take off and deburr"
    rows = [
        Row((Markup('{} <span class="aside">{}</span>').format(when, beds), ""), "group"),
        Row((_BOX, f"{verb}: {', '.join(step.pieces)}")),
    ]
    rows += [Row((_BOX, _joint(look, joint))) for joint in step.joints]
    rows += [
        Row((_BOX, f"{name or 'what belongs to no section'}: complete, build it up"))
        for name in step.sections
    ]
    return rows


def _joint(look: Lookup, joint: tuple[str, ...]) -> str:
    """What to do with a joint: fasten what is detachable, and with what; join or fit the others."""
    own = [look.piece[name].part for name in joint if name in look.piece]
    held = fastened_by(look.plan.airframe, own, look.part)
    names = " to ".join(joint)
    if held is None:
        return f"{_verb(look, joint)} {names}"
    return f"fasten {names}{f' with {held}' if held else ''} (detachable: no glue)"


def _verb(look: Lookup, joint: tuple[str, ...]) -> str:
    """``join`` for neighbours in a stack; what is only seen to touch is fitted: glue, screw or hinge."""
    parts = [look.part.get(look.piece[name].part) if name in look.piece else None for name in joint]
    stacks = {part.stack.name if part is not None and part.stack is not None else None for part in parts}
    return "join" if len(stacks) == 1 and None not in stacks else "fit"


def _kit(look: Lookup, kit: Kit) -> list[Row]:
    if kit.missing:
        told = f"{len(kit.missing)} of {count(len(kit.pieces), 'piece')} not scheduled"
    elif kit.ready is None:
        told = "fittings only"
    else:
        told = f"complete {day_time(kit.ready, look.plan)}"
    head = Markup('{} <span class="aside">{}</span>').format(kit.section or "no section", told)
    rows = [Row((head, "", "", "", ""), "group")]
    rows += [_piece(look, name) for name in kit.pieces]
    return rows + _fittings(look, kit.section)


def _fittings(look: Lookup, section: str) -> list[Row]:
    rows = []
    for fitting in look.plan.airframe.fittings:
        if fitting.section == section and fitting.count and look.plan.airframe.chosen(fitting.option):
            many = f"{fitting.count} \u00d7 " if fitting.count > 1 else ""
            grams = grams_text(fitting.mass_g * fitting.count)
            rows.append(Row((_BOX, f"{many}{fitting.name}", "fitting", "", grams)))
    return rows


def _run(look: Lookup, piece: str) -> Run | None:
    """The first run that delivers a piece."""
    found = look.batch_of.get(piece)
    runs = look.runs_of.get(found[0].name, ()) if found else ()
    return runs[0] if runs else None


def _piece(look: Lookup, piece: str) -> Row:
    known = next((p for p in look.plan.pieces if p.name == piece), None)
    deposit = None if known is None else look.plan.deposits.get(known.part)
    grams = UNKNOWN if deposit is None else grams_text(deposit.mass_g)
    run = _run(look, piece)
    name: Cell = piece + (" (mirrored)" if known is not None and known.mirrored else "")
    if piece in look.printed_on:
        return Row((_BOX, name, look.printed_on[piece], "printed before", grams))
    if run is None:
        return Row((_BOX, name, UNKNOWN, "on no bed", grams), "act")
    return Row((_BOX, name, run.batch, day_time(run.end, look.plan), grams))
