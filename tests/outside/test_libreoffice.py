"""Totals of the workbook, reckoned anew by LibreOffice, against plan.json."""

from __future__ import annotations

import io
import shutil
import subprocess
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from planner.api import PlanRequest, read_job
from planner.pipeline.run import run
from planner.report.exports.plan_json import plan_record
from planner.report.exports.workbook import cost_sheet_xlsx
from tests.small_job import write_small_job

SOFFICE = shutil.which("soffice") or shutil.which("libreoffice")
CENT = Decimal("0.005")

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(SOFFICE is None, reason="LibreOffice (soffice) is not installed"),
]


def reckoned(book: bytes, folder: Path) -> openpyxl.Workbook:
    """The workbook with every stored value of a formula thrown away and found again by LibreOffice."""
    bare = folder / "bare.xlsx"
    openpyxl.load_workbook(io.BytesIO(book)).save(bare)  # writes formulas without values
    out = folder / "out"
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    words = [str(SOFFICE), profile, "--headless", "--convert-to", "xlsx", "--outdir", str(out), str(bare)]
    subprocess.run(words, check=True, capture_output=True, timeout=180)
    return openpyxl.load_workbook(out / "bare.xlsx", data_only=True)


def test_totals_reckoned_anew_equal_the_plan(tmp_path: Path) -> None:
    """Every kind, the total, what stands apart, sections and whole spools come out as in plan.json."""
    folder = write_small_job(tmp_path / "glider")
    now = datetime(2026, 12, 1, 18, tzinfo=UTC)
    plan = run(read_job(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), now))
    told = plan_record(plan)["cost"]
    book = reckoned(cost_sheet_xlsx(plan), tmp_path)
    rows = list(book["Cost"].iter_rows(min_row=4, values_only=True))
    sums = {row[0]: row[5] for row in rows if row[1] == "sum of this kind"}
    for kind, amount in {**told["totals"], **told["apart"]}.items():
        assert abs(Decimal(repr(sums[kind])) - Decimal(amount)) < CENT, kind
    (total,) = (row[5] for row in rows if row[1] == "Total")
    assert abs(Decimal(repr(total)) - Decimal(told["total"])) < CENT
    sections = {row[0]: row[1] for row in book["By section"].iter_rows(min_row=4, values_only=True)}
    assert abs(Decimal(repr(sections["Total"])) - Decimal(told["total"])) < CENT
    shopping = {row[0]: row[4] for row in book["Shopping"].iter_rows(min_row=4, values_only=True)}
    fittings = [f for f in plan.airframe.fittings if plan.airframe.chosen(f.option)]
    bought = sum(Decimal(amount) for amount in told["apart"].values())
    bought += sum(Decimal(f.count * (f.price_minor or 0)) / 100 for f in fittings)
    assert abs(Decimal(repr(shopping["Total"])) - bought) < CENT
