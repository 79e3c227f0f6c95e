"""A kit is built to its last bed with a ledger; the sheet at the end is held against what really happened."""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import jsonschema_rs
import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

from planner.api import PlanRequest, plan_folder
from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.io.results.plan_file import read_plan
from planner.ledger.told_plan import piece_data
from planner.model.plan import Plan
from planner.model.replan import EarlierPlan
from planner.plan_record.schema import plan_schema
from planner.report.exports.plan_json import plan_json
from planner.report.layout.blocks import Table
from planner.report.lookup import Lookup
from planner.report.sheets.right_sheet import right_sheets
from tests.kits.kit import random_kit
from tests.kits.shop import random_shop

SLOW, MOST_STEPS = 1.03, 30


@dataclass
class Life:
    """A build with a ledger, and what really happened in it."""

    folder: Path
    plans: list[Plan] = field(default_factory=list)
    scale: dict[str, float] = field(default_factory=dict)
    hours: dict[str, float] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)

    def plan(self, start: str) -> Plan:
        asked = PlanRequest(
            (self.folder / "kit",), out=self.folder / "out", effort="quick", start=start, verify=True
        )
        self.plans.append(plan_folder(asked, datetime(2026, 12, 1, 18, 0, tzinfo=UTC)))
        return self.plans[-1]

    @property
    def place(self) -> LedgerPlace:
        return LedgerPlace(folder=self.folder / "kit", plan=self.folder / "out")

    def lived(self) -> Plan:
        """Two runs at a time, each told when it began and ended, every piece weighed but the heaviest."""
        plan = self.plan("2026-12-01T17:10")
        for _ in range(MOST_STEPS):
            if not plan.schedule.runs:
                return plan
            earlier = read_plan(self.folder / "out" / "plan.json")
            ends = sorted(run.end for run in earlier.runs)
            now = ends[min(1, len(ends) - 1)] + timedelta(hours=2)
            self.tell(earlier, now)
            plan = self.plan(f"{now:%Y-%m-%dT%H:%M}")
        raise AssertionError("the build does not end")

    def tell(self, earlier: EarlierPlan, now: datetime) -> None:
        heaviest = max(earlier.weights, key=lambda name: earlier.weights[name][0])
        for run in sorted(earlier.runs, key=lambda one: one.start):
            if run.start >= now:
                continue
            if run.mark != "running":
                self.say(run.batch, "began", at=run.start, now=now)
                self.hours[run.batch] = 0.0
            if run.end > now:
                continue
            pieces = [p.piece for b in earlier.batches if b.name == run.batch for p in b.placed]
            if not self.failed and len(self.plans) > 1 and run.mark != "running":
                self.failed.append(run.batch)
                stopped = run.start + 0.5 * (run.end - run.start)
                self.say(run.batch, "failed", at=stopped, now=now)
                continue
            after = [other.start for other in earlier.runs if other.printer == run.printer]
            late = run.start + SLOW * (run.end - run.start)
            end = min([late, now, *(start - timedelta(minutes=2) for start in after if start >= run.end)])
            self.say(run.batch, "done", at=end, now=now)
            for piece in pieces:
                if piece != heaviest:
                    self.weigh(earlier, piece, now)

    def weigh(self, earlier: EarlierPlan, piece: str, now: datetime) -> None:
        data = piece_data(earlier, piece)
        off = (zlib.crc32(piece.encode()) % 2001 - 1000) / 1000.0
        times = (1.06 if "foam" in str(data["filament"]) else 0.99) * (1.0 + 0.008 * off)
        self.scale[piece] = round(max(0.1, float(data["predicted_g"]) * times), 1)
        record(self.place, Told(("weighed", piece, f"{self.scale[piece]}")), now)

    def say(self, *words: str, at: datetime, now: datetime) -> None:
        record(self.place, Told(words, at=f"{at:%Y-%m-%dT%H:%M}"), now)


@pytest.mark.slow
def test_the_last_sheet_tells_what_happened(tmp_path: Path) -> None:
    """Planned numbers are those of the first plan, real ones those that were told; nothing before the end."""
    random_kit(3, 14).write(tmp_path / "kit")
    random_shop(3).write(tmp_path / "kit")
    life = Life(tmp_path)
    last = life.lived()
    first = life.plans[0]
    assert all(not right_sheets(Lookup(plan)) for plan in life.plans[:-1])
    sheets = right_sheets(Lookup(last))
    tables = [block for sheet in sheets for block in sheet.blocks if isinstance(block, Table)]
    whole = {str(row.cells[0]): row.cells for row in tables[0].rows}
    assert last.taught is not None
    assert last.taught.first is not None
    assert last.taught.first.mass_g == pytest.approx(first.mass.total_g, abs=0.001)
    assert last.taught.first.cost_minor == first.cost.total_minor
    assert last.taught.first.print_hours == pytest.approx(sum(first.schedule.print_hours.values()), abs=0.01)
    flying = {item.what: item.mass_g for item in last.mass.items if item.kind == "printed"}
    assert set(life.scale) < set(flying)
    for piece, grams in life.scale.items():
        assert flying[piece] == pytest.approx(grams, abs=1e-6)
    assert whole["printed grams"][2] == f"{sum(flying.values()):.1f} g"
    assert whole["beds"][1:3] == (str(len(first.batches)), str(len(last.past)))
    beds = {str(row.cells[0]): row.cells for row in tables[2].rows}
    assert {name for name, row in beds.items() if row[6] == "failed"} == set(life.failed)
    ends = {past.batch.name: past.run for past in last.past}
    for run in last.taught.timed:
        told = (ends[run.bed].end - ends[run.bed].start) / timedelta(hours=1)
        assert float(str(beds[run.bed][3])) == pytest.approx(told, abs=0.06)
    off = [abs(float(str(row.cells[3]))) for row in tables[1].rows]
    assert off == sorted(off, reverse=True)
    named = {str(row.cells[0]) for row in tables[1].rows}
    assert named <= set(life.scale)
    outlook = last.taught.outlook
    assert outlook is not None
    assert outlook.course[-1].mass_g == pytest.approx(last.mass.total_g, abs=1e-6)
    assert outlook.course[-1].high_g == pytest.approx(last.mass.high_g, abs=1e-6)
    assert outlook.course[-1].high_g - outlook.course[-1].low_g < first.mass.high_g - first.mass.low_g
    assert 0 < outlook.inside <= outlook.foretold
    assert {one.piece for one in outlook.weigh_next} == set(flying) - set(life.scale)
    drawn = sum(last.taught.drawn.values())
    assert drawn == pytest.approx(sum(flying.values()), rel=0.6)
    told = json.loads(plan_json(last))
    assert jsonschema_rs.Draft202012Validator(plan_schema()).is_valid(told)
    assert told["ledger"]["first"]["mass_g"] == pytest.approx(first.mass.total_g, abs=0.001)
