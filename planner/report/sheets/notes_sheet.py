"""The notes: can I trust it? Assumptions, the model in ten lines, proved and not proved, cautions."""

from __future__ import annotations

from planner.report.answers import proof
from planner.report.layout.blocks import Block, Column, Heading, Points, Row, Table, Words, fine
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.words import UNKNOWN, count
from planner.units import hours_text

MODEL = (
    "Every part is cut at mid-height of each of its layers; areas and outlines are those of the sections.",
    "A bead is a rectangle with round ends, area (w - h) h + pi h\u00b2 / 4; spacing is area over h.",
    "Walls follow the outline inwards, what is left narrower than a bead is filled; layers are solid where"
    " material ends above or below, else infill, whose lines are joined along the walls.",
    "Mass is deposited volume times deposited density; a foaming filament has one of its own on the bed.",
    "Metres of filament are grams over solid density and cross-section: mass is conserved.",
    "Minutes come from lengths, speeds and accelerations, layer by layer; a bed pays the least layer time"
    " once for all its pieces.",
    "A bed holds one filament and one layer height; pieces keep the clearance from one another and the"
    " margin from the edge, and stay out of keep-outs.",
    "Runs start when somebody is there; changeovers cost minutes and grams; spools are drawn in order.",
    "Airframe mass is pieces, fittings and finish; its range follows from their spreads.",
    "The balance is the sum of mass times station over the sum of mass; money is counted in minor units.",
)


def notes_sheets(look: Lookup) -> list[Sheet]:
    """All that the numbers rest on; cautions come last, on every report."""
    plan = look.plan
    blocks: list[Block] = []
    if plan.misfits:
        misfit_columns = (
            Column("piece", 50.0),
            Column("why", 50.0),
            Column("what would help", 70.0),
        )
        rows = [Row((m.piece, m.reason, m.proposal or UNKNOWN), "act") for m in plan.misfits]
        blocks += [Heading("Fits no bed"), Table(misfit_columns, tuple(rows))]
    if plan.set_aside:
        mesh_columns = (Column("mesh", 60.0), Column("why it is in no total", 110.0))
        rows = [Row((s.mesh, s.reason)) for s in plan.set_aside]
        blocks += [Heading("Set aside"), Table(mesh_columns, tuple(rows))]
    if look.findings:
        columns = (Column("about", 44.0), Column("weight", 14.0), Column("finding", 112.0))
        rows = [Row((f.about, f.weight, f.text), "act" if f.weight == "fault" else "") for f in look.findings]
        blocks += [Heading("Findings"), Table(columns, tuple(rows))]
    none = ("Nothing was assumed: all values were given.",)
    blocks += [
        Heading("Assumptions"),
        Points(plan.assumptions or none),
        Heading("How the numbers are made"),
        Points(MODEL),
        Heading("Proved, and not proved"),
        Points(_proofs(look)),
        Heading("Sources of the values"),
        _sources(look),
        Heading("Cautions"),
        Points(plan.cautions, "act"),
        Words(_seed(look), "quiet"),
    ]
    return laid_out("Notes", "Can I trust it?", "what the numbers rest on", fine(blocks))


def _proofs(look: Lookup) -> tuple[str, ...]:
    schedule = look.plan.schedule
    told = []
    if schedule.lower_bound_h is None:
        told.append("Finish: not proved. Another timetable may end sooner.")
    else:
        told.append(
            f"Finish: {proof(look.plan)}. It is proved that no timetable ends before"
            f" {hours_text(60 * schedule.lower_bound_h)} after the start; this one takes"
            f" {hours_text(60 * schedule.makespan_h)}."
        )
    told.append(
        "Not proved: grams and minutes are computed, not measured. Weigh one piece of each filament and time"
        " one bed; correct the filament and the printer by what you find."
    )
    told.append("Not proved: strength, stiffness and flutter. This is no proof of airworthiness.")
    return tuple(told)


def _sources(look: Lookup) -> Table:
    plan = look.plan
    used = set(look.letter)
    pairs = [(f"filament {f.name}", f.source) for f in plan.workshop.filaments if f.name in used]
    pairs += [
        (f"foaming of {f.name}", f.foam_source)
        for f in plan.workshop.filaments
        if f.name in used and f.foam_source
    ]
    pairs += [(f"printer {p.name} ({p.kind})", p.source) for p in plan.workshop.printers]
    recipes = {part.recipe.name: part.recipe.source for part in plan.parts}
    pairs += [(f"recipe {name}", source) for name, source in recipes.items()]
    of: dict[str, list[str]] = {}
    for what, source in dict.fromkeys(pairs):
        of.setdefault(source or UNKNOWN, []).append(what)
    rows = [Row((", ".join(names), source)) for source, names in of.items()]
    return Table((Column("value", 60.0), Column("where it comes from", 110.0)), tuple(rows))


def _seed(look: Lookup) -> str:
    plan = look.plan
    return (
        f"Made with seed {plan.seed} and effort {plan.effort}; the same inputs, seed and start give the same"
        f" plan. {count(len(plan.parts), 'part')}, {count(len(plan.pieces), 'piece')}."
    )
