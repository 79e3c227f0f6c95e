"""``plan.json`` of an earlier plan, read back as far as a later plan goes on from it."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, NoReturn

from planner.errors import InputError, RecordError
from planner.model.batch import Batch, Placed
from planner.model.printer import Outline
from planner.model.replan import OUTCOMES, EarlierPart, EarlierPlan, PastRun
from planner.model.schedule import Draw, Run, SpoolUse
from planner.units import to_minor

LIMIT_BYTES = 100_000_000
SCHEMA = 1
SERIES = 16  # digits that name the first of a series of plans


class Node:
    """A JSON object with the place where it stands, so that what is wrong can be named."""

    def __init__(self, file: str, where: str, value: Any) -> None:
        self.file, self.where = file, where
        if not isinstance(value, dict):
            self.refuse("", value, "an object")
        self.value: dict[str, Any] = value

    def refuse(self, key: str, value: object, wanted: str) -> NoReturn:
        """Refuse a value."""
        place = f"{self.where}.{key}".strip(".") or "the file"
        raise RecordError(
            f"{place} = {str(value)[:60]!r} must be {wanted}.",
            where=self.file,
            next_step="Give the plan.json of an earlier plan, unchanged but for its marks.",
        )

    def get(self, key: str) -> Any:
        """A value that must be there."""
        if key not in self.value:
            self.refuse(key, "nothing", "given")
        return self.value[key]

    def text(self, key: str) -> str:
        """A text of sane length."""
        value = self.get(key)
        if not isinstance(value, str) or len(value) > 1000:
            self.refuse(key, value, "a text")
        return value

    def optional_text(self, key: str) -> str | None:
        """A text, or nothing."""
        return None if self.value.get(key) is None else self.text(key)

    def number(self, key: str) -> float:
        """A finite number from 0 on."""
        value = self.get(key)
        if (
            isinstance(value, bool)
            or not isinstance(value, (int, float))
            or not math.isfinite(value)
            or value < 0
        ):
            self.refuse(key, value, "a number that is not below zero")
        return float(value)

    def flag(self, key: str) -> bool:
        """True or false."""
        value = self.get(key)
        if not isinstance(value, bool):
            self.refuse(key, value, "true or false")
        return value

    def moment(self, key: str) -> datetime:
        """A date and time with offset."""
        text = self.text(key)
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self.refuse(key, text, "a date and time")
        if moment.tzinfo is None:
            self.refuse(key, text, "a date and time with offset")
        return moment

    def items(self, key: str) -> list[Any]:
        """A list."""
        value = self.get(key)
        if not isinstance(value, list):
            self.refuse(key, value, "a list")
        return value

    def nodes(self, key: str, *, optional: bool = False) -> Iterator[Node]:
        """The objects of a list."""
        if optional and self.value.get(key) is None:
            return
        for n, value in enumerate(self.items(key)):
            yield Node(self.file, f"{self.where}.{key}[{n}]".strip("."), value)

    def node(self, key: str) -> Node:
        """An object inside."""
        return Node(self.file, f"{self.where}.{key}".strip("."), self.get(key))

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts."""
        values = self.items(key)
        if any(not isinstance(value, str) for value in values):
            self.refuse(key, values, "a list of texts")
        return tuple(values)


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
    if top.value.get("replan") is not None:
        before = top.node("replan")
        told = {node.text("spool"): node.number("grams") for node in before.nodes("told")}
        series, generation = before.text("series"), round(before.number("generation"))
        gone = {node.moment("at") for node in before.nodes("visits_gone")}
    plan = EarlierPlan(
        source=str(path),
        identification=top.text("identification"),
        airframe=top.node("airframe").text("name"),
        start=top.moment("start"),
        finish=schedule.moment("finish"),
        parts={
            node.text("part"): EarlierPart(node.text("filament"), node.text("recipe"), node.number("mass_g"))
            for node in top.nodes("parts")
        },
        part_of={node.text("piece"): node.text("part") for node in top.nodes("pieces")},
        batches=tuple(_batch(node) for node in top.nodes("batches")),
        runs=tuple(_run(node) for node in top.nodes("runs")),
        past=tuple(_past(node) for node in top.nodes("past", optional=True)),
        spools=spools,
        told_g=told,
        visits=tuple(sorted({*(node.moment("at") for node in schedule.nodes("visits")), *gone})),
        series=series,
        generation=generation,
    )
    return _whole(top, plan)


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
    turn = node.get("turn_deg")
    if isinstance(turn, bool) or not isinstance(turn, (int, float)) or not math.isfinite(turn):
        node.refuse("turn_deg", turn, "a number")
    return Placed(
        node.text("piece"),
        node.number("x_mm"),
        node.number("y_mm"),
        float(turn),
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
        draws=tuple(Draw(one.text("spool"), one.number("grams")) for one in node.nodes("spools")),
        purge_g=node.number("purge_g"),
        changed_from=node.optional_text("changed_from"),
        mark=mark,
    )
    if run.end < run.start:
        node.refuse("end", node.text("end"), "after its start")
    return run


def _past(node: Node) -> PastRun:
    outcome = node.text("outcome")
    if outcome not in ("done", "failed"):
        node.refuse("outcome", outcome, "done or failed")
    run = replace(_run(node.node("run")), mark="")
    batch = _batch(node.node("batch"))
    return PastRun(run, batch, outcome, node.texts("good"), node.flag("on_bed"))  # type: ignore[arg-type]


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
