"""``plan.json`` of an earlier plan, read back as far as a later plan goes on from it."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from planner.errors import InputError, RecordError
from planner.io.results.plan_node import Node
from planner.io.results.plan_printed import earlier_filament, earlier_part, printed_piece, weights
from planner.model.batch import Batch, Placed
from planner.model.choices import Choices
from planner.model.printer import Outline
from planner.model.replan import OUTCOMES, Changed, EarlierPlan, PastRun
from planner.model.schedule import Draw, Run, SpoolUse, Visit
from planner.units import to_minor

LIMIT_BYTES = 100_000_000
SCHEMA = 1
SERIES = 16  # digits that name the first of a series of plans


def read_plan(path: Path) -> EarlierPlan:
    """Read a plan back.

    Raises
    ------
    RecordError
        naming the file and the field that cannot be used
    """
    top = Node(str(path), "", _loaded(path))
    if top.get("schema") != SCHEMA:
        top.refuse("schema", top.get("schema"), f"{SCHEMA}, the only one that this version reads")
    schedule = top.node("schedule")
    spools = tuple(_spool(node, top.text("currency")) for node in top.nodes("spools"))
    told = {use.spool: use.grams_before for use in spools if not use.bought}
    series, generation, gone = top.text("identification")[:SERIES], 0, set[datetime]()
    last = 0
    changed: tuple[Changed, ...] = ()
    if top.value.get("replan") is not None:
        before = top.node("replan")
        told = {node.text("spool"): node.number("grams") for node in before.nodes("told")}
        series, generation = before.text("series"), round(before.number("generation"))
        last = round(before.number("last_bed")) if before.value.get("last_bed") is not None else 0
        changed = tuple(
            Changed(n.text("printer"), n.text("filament"), n.text("spool"), n.number("purged_g"))
            for n in before.nodes("changed", optional=True)
        )
        gone = {node.moment("at") for node in before.nodes("visits_gone")}
    plan = EarlierPlan(
        source=str(path),
        identification=top.text("identification"),
        airframe=top.node("airframe").text("name"),
        start=top.moment("start"),
        finish=schedule.moment("finish"),
        parts={node.text("part"): earlier_part(node) for node in top.nodes("parts")},
        part_of={node.text("piece"): node.text("part") for node in top.nodes("pieces")},
        batches=tuple(_batch(node) for node in top.nodes("batches")),
        runs=tuple(_run(node) for node in top.nodes("runs")),
        past=tuple(_past(node) for node in top.nodes("past", optional=True)),
        spools=spools,
        told_g=told,
        handled=tuple(
            Visit(node.moment("at"), round(node.number("minutes")), node.texts("tasks"))
            for node in schedule.nodes("visits")
        ),
        changed=changed,
        visits=tuple(sorted({*(node.moment("at") for node in schedule.nodes("visits")), *gone})),
        series=series,
        generation=generation,
        choices=_choices(top),
        again=tuple(
            node.text("piece")
            for node in top.nodes("pieces")
            if node.value.get("again") and node.flag("again")
        ),
        last_bed=last,
        printed={one.piece: one for one in map(printed_piece, top.nodes("printed", optional=True))},
        weights=weights(top.node("mass")),
        filaments=dict(earlier_filament(node) for node in top.nodes("filaments", optional=True)),
    )
    return _whole(top, plan)


def _choices(top: Node) -> Choices:
    """What the earlier plan was asked for; nothing in one that does not tell it."""
    if top.value.get("choices") is None:
        return Choices()
    node = top.node("choices")
    dates = node.node("section_dates")
    return Choices(
        options=node.node("options").texts_by_name(),
        printers=node.texts("printers"),
        filament=node.optional_text("filament"),
        prefer=node.texts("prefer"),
        section_dates={name: dates.day(name) for name in dates.value},
    )


def _loaded(path: Path) -> Any:
    try:
        if path.stat().st_size > LIMIT_BYTES:
            raise RecordError(f"the file is larger than {LIMIT_BYTES} bytes.", where=str(path))
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is no JSON"
        raise RecordError(
            f"the earlier plan cannot be read ({reason}).",
            where=str(path),
            next_step="Give the plan.json of a results folder.",
        ) from error


def _whole(top: Node, plan: EarlierPlan) -> EarlierPlan:
    """Every run has its batch and its spools, and every bed runs once."""
    batches = {batch.name for batch in plan.batches}
    spools = {use.spool for use in plan.spools}
    for n, run in enumerate(plan.runs):
        if run.batch not in batches:
            top.refuse(f"runs[{n}].batch", run.batch, "one of the batches")
        if any(draw.spool not in spools for draw in run.draws):
            top.refuse(f"runs[{n}].spools", [draw.spool for draw in run.draws], "among the spools")
    twice = [run.batch for n, run in enumerate(plan.runs) if run.batch in {r.batch for r in plan.runs[:n]}]
    if twice:
        top.refuse("runs", twice[0], "a batch that runs only once")
    return plan


def _outline(node: Node, key: str) -> Outline:
    points = node.items(key)
    ring = []
    for point in points:
        if not isinstance(point, list) or len(point) != 2:
            node.refuse(key, point, "a list of [x, y] points")
        if any(isinstance(v, bool) or not isinstance(v, (int, float)) or not math.isfinite(v) for v in point):
            node.refuse(key, point, "a list of [x, y] points")
        ring.append((float(point[0]), float(point[1])))
    return tuple(ring)


def _placed(node: Node) -> Placed:
    return Placed(
        node.text("piece"),
        node.signed("x_mm"),  # where the piece's own corner comes to lie: off the bed for many a turn
        node.signed("y_mm"),
        node.signed("turn_deg"),
        _outline(node, "outline_mm"),
        node.number("height_mm"),
    )


def _batch(node: Node) -> Batch:
    return Batch(
        name=node.text("batch"),
        printer_kind=node.text("printer_kind"),
        filament=node.text("filament"),
        layer_height_mm=node.number("layer_height_mm"),
        placed=tuple(_placed(one) for one in node.nodes("placed")),
        minutes=node.number("minutes"),
        mass_g=node.number("mass_g"),
        height_mm=node.number("height_mm"),
        fill=node.number("fill"),
        digest=node.optional_text("model_sha256") or "",
    )


def _run(node: Node) -> Run:
    mark = node.optional_text("mark") or ""
    if mark not in ("", *OUTCOMES):
        node.refuse("mark", mark, f"null or one of: {', '.join(OUTCOMES)}")
    run = Run(
        name=node.text("run"),
        batch=node.text("batch"),
        printer=node.text("printer"),
        start=node.moment("start"),
        end=node.moment("end"),
        attended_start=node.flag("attended_start"),
        draws=tuple(_draw(one) for one in node.nodes("spools")),
        purge_g=node.number("purge_g"),
        changed_from=node.optional_text("changed_from"),
        mark=mark,
        dry_at=None if node.value.get("dry_at") is None else node.moment("dry_at"),
        short_g=node.number("short_g") if "short_g" in node.value else 0.0,
    )
    if run.end < run.start:
        node.refuse("end", node.text("end"), "after its start")
    return run


def _draw(node: Node) -> Draw:
    before = node.number("before_g") if "before_g" in node.value else 0.0
    return Draw(node.text("spool"), node.number("grams"), before)


def _past(node: Node) -> PastRun:
    outcome = node.text("outcome")
    if outcome not in ("done", "failed"):
        node.refuse("outcome", outcome, "done or failed")
    run = replace(_run(node.node("run")), mark="")
    batch = _batch(node.node("batch"))
    scrapped = node.texts("scrapped") if node.value.get("scrapped") is not None else ()
    return PastRun(run, batch, outcome, node.texts("good"), node.flag("on_bed"), scrapped)  # type: ignore[arg-type]


def _spool(node: Node, currency: str) -> SpoolUse:
    price = node.optional_text("price")
    try:
        minor = None if price is None else to_minor(Decimal(price), currency)
    except (ArithmeticError, InputError):
        node.refuse("price", price, "an amount")
    return SpoolUse(
        spool=node.text("spool"),
        filament=node.text("filament"),
        bought=node.flag("bought"),
        grams_before=node.number("grams_before"),
        grams_used=node.number("grams_used"),
        grams_purged=node.number("grams_purged"),
        grams_left=node.number("grams_left"),
        price_minor=minor,
    )
