"""A ledger as tables, and the weigh-ins of a plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pandas as pd
import pytest

import planner
from planner.ledger.fact import DONE, SPOOL_ADDED, WEIGHED, Fact
from planner.ledger.frames import frames_of
from planner.ledger.store import Ledger
from planner.model.learned import Judged, Taught, WeighedPiece, WeighIn
from planner.report.exports.plan_json import plan_json
from planner.report.lookup import Lookup
from planner.report.sheets.learned_sheet import learned_sheets
from tests.plan_samples import START, sample_plan

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
PIECE = {
    "piece": "hull", "predicted_g": 20.0, "flying_g": 20.0, "filament": "PLA", "recipe": "skin",
    "printer": "one", "spool": "grey 1", "bed": "bed 1",
}  # fmt: skip


def test_facts_weigh_ins_and_accounts(tmp_path: Path) -> None:
    """In their types; of pieces weighed together what they share is told."""
    draws = [{"spool": "grey 1", "grams": 40.0, "purge_g": 1.0}]
    ran = {"start": NOON.isoformat(), "minutes": 60.0, "draws": draws, "told_at": True}
    told = [
        Fact(SPOOL_ADDED, "grey 1", NOON, "a", data={"filament": "PLA", "grams": 500.0}),
        Fact(DONE, "bed 1", NOON + timedelta(hours=2), "b", "glider", data=ran),
        Fact(WEIGHED, "hull + fin", NOON, "c", "glider", data={
            "grams": 44.0, "resolution_g": 0.1,
            "pieces": [PIECE, {**PIECE, "piece": "fin", "printer": "two"}],
        }),
    ]  # fmt: skip
    with Ledger(tmp_path / "ledger.sqlite", writing=True) as ledger:
        ledger.write(told)
        tables = ledger.frames(NOON + timedelta(days=1))
    assert tables.facts.kind.tolist() == ["spool added", "done", "weighed"]
    assert str(tables.facts["at"].dtype) == "datetime64[s, UTC]"
    assert tables.facts.grams.isna().tolist() == [False, True, False]
    (row,) = tables.weigh_ins.to_dict("records")
    assert (row["pieces"], row["filament"], row["predicted_g"]) == ("hull + fin", "PLA", 40.0)
    assert row["off_percent"] == pytest.approx(10.0)
    assert pd.isna(row["printer"])
    assert tables.spools.after_g.tolist() == [500.0, 459.0]
    assert tables.spools.grams.sum() == pytest.approx(459.0)


def test_an_empty_ledger_has_empty_tables_of_the_same_types(tmp_path: Path) -> None:
    """So that what is made of them holds from the first day on."""
    with Ledger(tmp_path / "ledger.sqlite", writing=True) as ledger:
        tables = ledger.frames(NOON)
    assert [len(one) for one in (tables.facts, tables.weigh_ins, tables.spools)] == [0, 0, 0]
    bare = frames_of((), NOON)
    for made, other in zip((bare.facts, bare.weigh_ins, bare.spools),
                           (tables.facts, tables.weigh_ins, tables.spools), strict=True):  # fmt: skip
        assert made.dtypes.equals(other.dtypes)
    assert str(tables.weigh_ins["at"].dtype) == "datetime64[s, UTC]"
    assert str(tables.spools.grams.dtype) == "float64"


def taught() -> planner.Plan:
    """The sample plan with a weigh-in that is believed and one that is not."""
    piece = WeighedPiece("wing mid L", 20.0, "foaming PLA", "skin")
    judged = (
        Judged(WeighIn((piece,), 21.0, 0.1, START), 20.9, 0.0, True),
        Judged(WeighIn((replace(piece, piece="<b>hatch</b>"),), 40.0), 20.9, 8.0, False),
    )
    return replace(sample_plan(), taught=Taught(2, judged=judged))  # type: ignore[return-value]


def test_the_weigh_ins_of_a_plan() -> None:
    """A row each, in the zone of the plan; a plan without a ledger has none and does not tell of them."""
    found = planner.frames(taught())
    assert found.weigh_ins.pieces.tolist() == ["wing mid L", "<b>hatch</b>"]
    assert found.weigh_ins.off_percent.tolist() == pytest.approx([5.0, 100.0])
    assert found.weigh_ins.believed.tolist() == [True, False]
    assert found.weigh_ins["at"].isna().tolist() == [False, True]
    assert "weigh_ins 2" in repr(found)
    bare = planner.frames(sample_plan())  # type: ignore[arg-type]
    assert len(bare.weigh_ins) == 0
    assert "weigh_ins" not in repr(bare)


def test_the_sheet_of_what_was_learned() -> None:
    """Doubted weigh-ins are marked; a plan that was taught nothing has no such sheet."""
    (sheet,) = learned_sheets(Lookup(taught()))
    assert "not believed" in str(sheet)
    assert learned_sheets(Lookup(sample_plan())) == []
    assert learned_sheets(Lookup(replace(sample_plan(), taught=Taught(3)))) == []
    assert '"believed": false' in plan_json(taught()) or '"believed":false' in plan_json(taught())
