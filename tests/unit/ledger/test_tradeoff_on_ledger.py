"""A trade-off in the middle of a build: only what is not printed yet is proposed, with what was learned."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from planner.api import PlanRequest, plan_folder
from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.api.tradeoffs import TradeoffRequest, tradeoff_studied
from planner.io.results.plan_file import read_plan
from planner.ledger.told_plan import piece_data
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)


def asked(folder: Path, out: str, start: str) -> PlanRequest:
    return PlanRequest((folder / "glider",), out=folder / out, effort="quick", start=start)


@pytest.mark.slow
def test_only_the_rest_is_proposed(tmp_path: Path) -> None:
    """Without the ledger the printed part may be changed; with it never, and what is over stays over."""
    write_small_job(tmp_path / "glider")
    first = plan_folder(asked(tmp_path, "out", "2026-12-01T18:00"), NOW)
    earlier = read_plan(tmp_path / "out" / "plan.json")
    run = min(earlier.runs, key=lambda one: one.end)
    place = LedgerPlace(folder=tmp_path / "glider", plan=tmp_path / "out", zone="UTC")
    record(place, Told((run.batch, "done")), NOW)
    there = [p.piece for batch in earlier.batches if batch.name == run.batch for p in batch.placed]
    grams = {piece: 1.04 * piece_data(earlier, piece)["predicted_g"] for piece in there}
    for piece, weight in grams.items():
        record(place, Told(("weighed", piece, f"{weight:.2f}"), resolution_g=0.01), NOW)
    later = (run.end + timedelta(minutes=20)).strftime("%Y-%m-%dT%H:%M")
    wanted = TradeoffRequest(mass_at_most_g=first.mass.total_g - 1.0)
    found = tradeoff_studied(asked(tmp_path, "lighter", later), wanted, NOW)
    assert [past.batch.name for past in found.before.past] == [run.batch]
    part_of = {piece.name: piece.part for piece in found.before.pieces}
    fixed = {part_of[piece] for piece in there}
    assert all(len(found.ways[part]) == 1 for part in fixed)
    assert any(len(ways) > 1 for ways in found.ways.values())
    single = {part for change in (*found.by_hour, *found.by_money) for part in change.parts}
    assert not single & fixed
    assert single
    if found.proposal is not None:
        assert not {row.part for row in found.proposal.changed} & fixed
        assert found.after is not None
        weighs = {item.what: item.mass_g for item in found.after.mass.items}
        assert {piece: weighs[piece] for piece in there} == pytest.approx(grams, abs=0.006)
        assert [past.batch.name for past in found.after.past] == [run.batch]
    assert found.before.taught is not None
    recipes = {recipe for filament, recipe in found.before.taught.lessons}
    assert len(recipes) > len({part.recipe.name for part in found.before.parts})
