"""Two airframes from folders to a failed bed and a weighed piece, told to one ledger."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.api.ledger_place import LedgerPlace
from planner.api.planning import plan_folder
from planner.api.request import PlanRequest
from planner.api.today import today
from planner.cli.main import app
from planner.errors import InputError
from tests.unit.api.test_several import WORKSHOP, airframe

pytestmark = pytest.mark.slow
NOW = datetime(2026, 12, 1, 18, tzinfo=UTC)


def test_a_failed_bed_of_two_is_printed_again_for_both(tmp_path: Path) -> None:
    (tmp_path / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    folders = (airframe(tmp_path / "a", "glider"), airframe(tmp_path / "b", "wing b"))
    asked = PlanRequest(folders, out=tmp_path / "out", effort="quick")
    made = plan_folder(asked, NOW)
    shared = next(
        bed for bed in made.batches if len({p.piece.split(" / ")[0] for p in bed.placed}) == len(folders)
    )
    place = ["--in", str(tmp_path), "--plan", str(asked.out)]
    when = ["--at", "2026-12-01T19:00"]
    kept = "glider / rib 1"
    for words in (["failed", shared.name, "--good", kept, *when], ["weighed", kept, "2.0"]):
        told = CliRunner().invoke(app, ["record", *words, *place])
        assert told.exit_code == 0, told.output
    again = plan_folder(replace(asked), NOW + timedelta(hours=2))
    lost = {p.piece for p in shared.placed} - {kept}
    fresh = {p.piece for bed in again.batches for p in bed.placed}
    assert lost <= fresh
    assert kept not in fresh
    assert {piece.split(" / ")[0] for piece in lost} == {"glider", "wing b"}
    weight = next(item.mass_g for item in again.airframes[0].mass.items if item.what == kept)
    assert weight == 2.0
    record = json.loads((asked.out / "plan.json").read_text(encoding="utf-8"))
    assert [one["airframe"] for one in record["airframes"]] == ["glider", "wing b"]
    assert record["replan"] is not None
    now = today(LedgerPlace(None, tmp_path, asked.out), NOW + timedelta(hours=2))
    assert now.airframe == "glider + wing b"
    assert kept in now.there
    with pytest.raises(InputError, match="none of its parts is in 'glider'"):
        plan_folder(replace(asked, sources=folders[:1]), NOW + timedelta(hours=2))
