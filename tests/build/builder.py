"""Somebody who builds a kit with the command line: edits the files, says what became of beds, plans again."""

from __future__ import annotations

import contextlib
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import tomlkit
from typer.testing import CliRunner

from planner.cli.main import app
from planner.errors import PlannerError
from planner.io.results.plan_file import read_plan
from planner.model.plan import Plan
from planner.report import bundle
from planner.report.exports.plan_json import plan_json
from tests.build.agree import disagreements, shape
from tests.build.laws import broken_laws
from tests.build.sheets import Results
from tests.build.truth import Said, Truth
from tests.builders import stl_bytes
from tests.kits import shapes
from tests.kits.kit import OPTION, Kit
from tests.kits.shop import Shop

RUN = CliRunner()
Record = dict[str, Any]
Judged = tuple[Results | None, Truth, Counter[tuple[str, bool]], Record]  # what ``broken_laws`` goes by
WIDE = 80  # columns of the terminal
FAILED_CHECK = 70  # exit code of a plan that fails its own check


def _plan_record(plan: Plan) -> Iterator[tuple[str, bytes]]:
    yield "plan.json", plan_json(plan).encode("utf-8")


@contextlib.contextmanager
def plan_alone() -> Iterator[None]:
    """Let results folders hold plan and beds for a while, and no sheets: half of what a small plan costs."""
    before = bundle.each_document
    bundle.each_document = _plan_record
    try:
        yield
    finally:
        bundle.each_document = before


@dataclass
class Builder:
    """One build: its folder, what is really there, and every fault that was seen, step by step."""

    folder: Path
    kit: Kit
    shop: Shop
    choice: str = "plain"
    truth: Truth = field(default_factory=Truth)
    made: list[Results] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    judged: list[tuple[Results | None, Truth, Counter[tuple[str, bool]], Record]] = field(
        default_factory=list
    )
    reads: Callable[[], bool] = lambda: True  # whether all documents of the next step are made and read

    def __post_init__(self) -> None:
        self.kit.write(self.folder)
        self.shop.write(self.folder)
        self.truth.grams = {row["name"]: row["grams_left"] for row in self.shop.record["spool"]}

    @property
    def plan(self) -> Record:
        """The last plan."""
        return self.made[-1].plan

    def begin(self, start: str) -> None:
        """The first plan."""
        self._planned("begin", ["--start", start])

    def go_on(self, step: str, said: Said, *words: str, weighed: Mapping[str, float] | None = None) -> None:
        """Say what became of the beds and what spools weigh by now, and plan what is left."""
        self.truth.go_on(self.plan, said, {row["name"] for row in self._shop()["printer"]})
        for spool, grams in (weighed or {}).items():
            self.weigh(spool, grams)
        marks: list[str] = ["--as-planned"] if said.as_planned else []
        for option, beds in (("--failed", said.failed), ("--running", said.running)):
            for bed, at in beds.items():
                marks += [option, bed if at is None else f"{bed}={at:%Y-%m-%dT%H:%M}"]
        for option, pieces in (("--good", said.good), ("--again", said.again)):
            for piece in pieces:
                marks += [option, piece]
        since = ["--since", str(self.made[-1].folder), "--start", f"{said.now:%Y-%m-%dT%H:%M}"]
        self._planned(step, [*since, *marks, *words])

    def tells(self, *words: str) -> str:
        """A command beside the plans, of the last of them: what it answers."""
        found = RUN.invoke(app, [*words, "--plan", str(self.made[-1].folder)])
        if found.exit_code != 0:
            self.faults.append(f"{' '.join(words)}: exit {found.exit_code}, {' '.join(found.output.split())}")
        wide = [
            line for line in found.output.splitlines() if len(line) > WIDE and str(self.folder) not in line
        ]
        if wide:
            self.faults.append(f"{' '.join(words)}: wider than {WIDE} columns: {wide[0]}")
        return found.output

    def record(self, *words: str, at: datetime) -> None:
        """A fact, told at a moment."""
        self.tells("record", *words, "--in", str(self.folder), "--at", f"{at:%Y-%m-%dT%H:%M}")

    def puts_on_scale(self, piece: str, grams: float, at: datetime) -> None:
        """A finished piece is weighed; from then on it weighs that."""
        self.record("weighed", piece, f"{grams:.1f}", at=at)
        self.truth.pieces[piece] = round(grams, 1)
        self.truth.on_scale.add(piece)
        self.truth.learned = True

    def _planned(self, step: str, words: list[str]) -> None:
        """Plan with the check on; where the check fails it is told and the plan made without it."""
        before = self.made[-1] if self.made else None
        out = self.folder / f"out{len(self.made)}"
        fixed = ["plan", str(self.folder), "--out", str(out), "--effort", "quick", "--jobs", "1"]
        told = f"step {len(self.made)} ({step}; {' '.join(words)})"
        reads = self.reads()
        with contextlib.nullcontext() if reads else plan_alone():
            found = RUN.invoke(app, [*fixed, *words, "--verify"])
            if found.exit_code == FAILED_CHECK and isinstance(found.exception, SystemExit):
                self.faults.append(f"{told}: {' '.join(found.output.split())}")
                found = RUN.invoke(app, [*fixed, *words])
        if found.exception is not None and not isinstance(found.exception, SystemExit):
            raise AssertionError(f"{told}: {found.exception!r}") from found.exception
        assert found.exit_code == 0, f"{told}: exit {found.exit_code}, {found.output}"
        made = Results(out, found.output)
        self.made.append(made)
        self.truth.look(made.plan)
        try:
            read_plan(out / "plan.json")
        except PlannerError as error:
            self.faults.append(f"{told}: the plan cannot be read back: {error}")
        self.judged.append((before, deepcopy(self.truth), self.kit.wanted(self.choice), self._shop()))
        seen = broken_laws(made, *self.judged[-1])
        seen += disagreements(made) if reads else shape(made)
        self.faults += [f"{told}: {fault}" for fault in seen]

    def _shop(self) -> Record:
        """The workshop file as it is now."""
        return tomllib.loads((self.folder / "workshop.toml").read_text(encoding="utf-8"))

    def edit(self, file: str, change: Callable[[Any], None]) -> None:
        """Change a record on disk, its comments and order kept."""
        path = self.folder / file
        record = tomlkit.parse(path.read_text(encoding="utf-8"))
        change(record)
        path.write_text(tomlkit.dumps(record), encoding="utf-8")

    def choose(self, choice: str) -> None:
        """Build the kit with another nose."""
        self.choice = choice

        def change(record: Any) -> None:
            record["options"][OPTION] = choice

        self.edit("airframe.toml", change)

    def weigh(self, spool: str, grams: float) -> None:
        """Put a spool on the scale and write down what it holds."""
        self.truth.weigh(spool, grams)

        def change(record: Any) -> None:
            next(row for row in record["spool"] if row["name"] == spool)["grams_left"] = grams

        self.edit("workshop.toml", change)

    def lose(self, printer: str) -> None:
        """A printer has broken down."""

        def change(record: Any) -> None:
            rows = record["printer"]
            del rows[next(n for n, row in enumerate(rows) if row["name"] == printer)]

        self.edit("workshop.toml", change)

    def forbid(self, printer: str, filament: str) -> None:
        """A printer may no longer run a filament."""

        def change(record: Any) -> None:
            row = next(row for row in record["printer"] if row["name"] == printer)
            row["filaments"] = [name for name in row["filaments"] if name != filament]
            row.pop("loaded", None)

        self.edit("workshop.toml", change)

    def buy_printer(self) -> None:
        """One printer more, of another kind."""

        def change(record: Any) -> None:
            record["printer"].append(self.shop.later)

        self.edit("workshop.toml", change)

    def redraw(self, part: str, factor: float = 1.03) -> None:
        """The mesh of a part is drawn anew, a little larger."""
        row = next(row for row in self.kit.rows if row.part == part)
        mesh = shapes.mesh_of(row.solid.scale((factor, factor, factor)))
        (self.folder / row.file).write_bytes(stl_bytes(mesh))
