"""Paint and glue of a kit of two meshes: the balance moves as by hand, and every output says the same."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, read_job
from planner.pipeline.job import Job
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.placed.assembly import in_assembly
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from planner.report.exports.plan_json import plan_json
from planner.report.exports.tables import cost_sheet_csv
from planner.report.sheets.page import report_html
from tests.builders import box, stl_bytes
from tests.small_job import WORKSHOP

AIRFRAME = """
[airframe]
name = "Two boxes"
in_assembly_position = true

[[part]]
mesh = "wing.stl"
section = "wing"

[[part]]
mesh = "tail.stl"
section = "tail"

[[fitting]]
name = "battery"
mass_g = 40
station_mm = 10

[finish]
"""
NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
TAIL_MM2 = 2.0 * (60.0 * 24.0 + 24.0 * 20.0 + 60.0 * 20.0)  # 6 240


def job(folder: Path, finish: str) -> Job:
    """A wing of 100 x 40 x 30 mm from the datum on, and a tail of 60 x 24 x 20 mm that touches its end."""
    folder.mkdir()
    (folder / "wing.stl").write_bytes(stl_bytes(box(100.0, 40.0, 30.0, (0.0, -20.0, 0.0))))
    (folder / "tail.stl").write_bytes(stl_bytes(box(60.0, 24.0, 20.0, (100.0, -12.0, 5.0))))
    (folder / "airframe.toml").write_text(AIRFRAME + finish, encoding="utf-8")
    (folder / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    return read_job(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), NOW)


def balanced(folder: Path, finish: str) -> tuple[float, float]:
    """Grams and centre of gravity."""
    found = weighed(in_assembly(job(folder, finish)))
    assert found.balance.station_mm is not None
    assert found.balance.unplaced == ()
    return found.mass.total_g, found.balance.station_mm


@pytest.mark.parametrize(
    ("paint", "grams", "station_mm"),
    [
        ('paint_g_per_m2 = 900\npainted = ["tail"]', 900.0 * TAIL_MM2 / 1e6, 130.0),
        ('paint_g = 5\npainted = ["tail"]', 5.0, 130.0),
        ('primer_g_per_m2 = 900\npainted = ["wing"]', 900.0 * 0.0164, 50.0),
        ('paint_g = 5\npainted = ["tail"]\nstation_mm = 20', 5.0, 20.0),
    ],
)
def test_a_painted_tail_moves_the_balance_as_by_hand(
    tmp_path: Path, paint: str, grams: float, station_mm: float
) -> None:
    """Paint of the tail lies about its middle, station 130: (M x cg + m x 130) / (M + m)."""
    bare_g, bare_mm = balanced(tmp_path / "bare", "glue_g = 0")
    painted_g, painted_mm = balanced(tmp_path / "painted", f"glue_g = 0\n{paint}")
    assert painted_g - bare_g == pytest.approx(grams)
    assert painted_mm == pytest.approx((bare_g * bare_mm + grams * station_mm) / (bare_g + grams))


@pytest.mark.parametrize(("glue", "grams"), [("glue_g = 4", 4.0), ("", None)])
def test_glue_lies_where_the_two_touch(tmp_path: Path, glue: str, grams: float | None) -> None:
    """The one joint is at station 100, in the middle and 15 mm up; both sections have half of the glue."""
    bare_g, bare_mm = balanced(tmp_path / "bare", "glue_g = 0")
    if grams is None:
        grams = 0.025 * (bare_g - 40.0)  # of what is printed
    found = weighed(in_assembly(job(tmp_path / "glued", glue)))
    lines = {item.what: item for item in found.mass.items if item.kind == "finish"}
    assert {what: item.mass_g for what, item in lines.items()} == pytest.approx(
        {"glue, wing": grams / 2.0, "glue, tail": grams / 2.0}
    )
    for item in lines.values():
        assert (item.station_mm, item.across_mm, item.up_mm) == pytest.approx((100.0, 0.0, 15.0), abs=0.3)
    wanted = (bare_g * bare_mm + grams * 100.0) / (bare_g + grams)
    assert found.balance.station_mm == pytest.approx(wanted, abs=0.02)


def test_every_output_has_the_same_glue_and_paint(tmp_path: Path) -> None:
    """plan.json, cost sheet and report tell the sections' grams; the cost sheet has one line a kind."""
    plan = run(job(tmp_path / "kit", 'glue_g = 4\npaint_g = 5\npainted = ["tail"]'))
    assert faults(plan) == ()
    items = [item for item in json.loads(plan_json(plan))["mass"]["items"] if item["kind"] == "finish"]
    told = {(item["finish"], item["section"]): (item["mass_g"], item["station_mm"]) for item in items}
    assert told["primer and paint", "tail"] == pytest.approx((5.0, 130.0))
    assert told["glue", "wing"] == told["glue", "tail"] == pytest.approx((2.0, 100.0), abs=0.3)
    assert len(told) == len(items) == 3
    lines = [line.split(",") for line in cost_sheet_csv(plan).splitlines() if line.startswith("finish,")]
    assert [(line[1], float(line[2])) for line in lines] == [("glue", 4.0), ("primer and paint", 5.0)]
    html = report_html(plan)
    assert "Glue is divided by the area of the glued joints" in html
