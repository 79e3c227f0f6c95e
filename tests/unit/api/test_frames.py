"""The tables of a plan say what ``plan.json`` says, in the types that are stated."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import planner
from planner.api.frame_columns import COLUMNS
from planner.api.frames import frames
from tests.plan_samples import sample_plan
from tests.small_job import write_small_job

DTYPES = {"text": "string", "number": "float64", "count": "Int64", "flag": "bool"}


@pytest.fixture(name="made", scope="module")
def _made(tmp_path_factory: pytest.TempPathFactory) -> planner.Plan:
    folder = write_small_job(tmp_path_factory.mktemp("frames") / "kit")
    return planner.plan(
        folder, start="2026-12-01T18:00", effort="quick", cache=False, out=folder.parent / "out"
    )


@pytest.fixture(name="tables", scope="module")
def _tables(made: planner.Plan) -> planner.Frames:
    return planner.frames(made)


@pytest.fixture(name="record", scope="module")
def _record(made: planner.Plan) -> dict[str, Any]:
    assert made.written is not None
    found: dict[str, Any] = json.loads((Path(made.written) / "plan.json").read_text(encoding="utf-8"))
    return found


@pytest.mark.parametrize("name", COLUMNS)
def test_columns_and_types_are_as_stated(tables: planner.Frames, name: str) -> None:
    """In their order; of an empty table as well."""
    frame = getattr(tables, name)
    assert list(frame.columns) == list(COLUMNS[name])
    for column, kind in COLUMNS[name].items():
        told = str(frame[column].dtype)
        assert told == (DTYPES[kind] if kind != "time" else "datetime64[s, Europe/Lisbon]"), column


def test_rows_are_those_of_the_record(tables: planner.Frames, record: dict[str, Any]) -> None:
    """Every row once, grams and millimetres to the last digit that is written."""
    assert tables.parts.part.tolist() == [row["part"] for row in record["parts"]]
    assert tables.parts.mass_g.tolist() == [row["mass_g"] for row in record["parts"]]
    assert tables.parts.z_mm.tolist() == [row["extents_mm"][2] for row in record["parts"]]
    assert tables.parts.pieces.sum() == len(record["pieces"]) == len(tables.pieces)
    lying = {p["piece"]: (b["batch"], p["x_mm"]) for b in record["batches"] for p in b["placed"]}
    assert {row.piece: (row.batch, row.x_mm) for row in tables.pieces.itertuples()} == lying
    assert tables.runs.start.tolist() == [datetime.fromisoformat(row["start"]) for row in record["runs"]]
    assert tables.runs.mass_g.sum() == pytest.approx(sum(row["mass_g"] for row in record["batches"]))
    assert tables.visits.what.tolist() == ["; ".join(v["tasks"]) for v in record["schedule"]["visits"]]
    assert tables.spools.grams_left.tolist() == [row["grams_left"] for row in record["spools"]]
    told = [None if pd.isna(amount) else f"{amount:.2f}" for amount in tables.cost_lines.amount]
    assert told == [row["amount"] for row in record["cost"]["lines"]]
    assert tables.findings.text.tolist() == [row["text"] for row in record["findings"]]


def test_the_balance_follows_from_the_mass_items(tables: planner.Frames, made: planner.Plan) -> None:
    """Moments over grams, by pandas alone."""
    placed = tables.mass_items.dropna(subset=["station_mm"])
    assert placed.moment_g_mm.sum() / placed.mass_g.sum() == pytest.approx(made.balance.station_mm, abs=1e-2)
    assert tables.mass_items.mass_g.sum() == pytest.approx(made.mass.total_g, abs=1e-2)


def test_layers_add_up_to_their_part(tables: planner.Frames) -> None:
    """Volumes to that of the deposit, seconds to its minutes, tops to its height."""
    layers, parts = tables.layers.groupby("part"), tables.parts.set_index("part")
    kinds = ["wall_mm3", "solid_mm3", "sparse_mm3", "support_mm3"]
    volume, seconds = layers[kinds].sum().sum(axis=1) / 1000.0, layers.seconds.sum()
    for part in parts.index:
        assert volume[part] == pytest.approx(parts.deposit_volume_cm3[part], abs=1e-3)
        assert seconds[part] / 60.0 == pytest.approx(parts.minutes[part], abs=0.01)
        assert layers.top_mm.max()[part] == pytest.approx(parts.z_mm[part], abs=0.3)


def test_a_plan_that_was_read_back_gives_the_same_tables(made: planner.Plan, tables: planner.Frames) -> None:
    """All but the layers, which ``plan.json`` does not hold."""
    assert made.written is not None
    again = planner.frames(planner.read_plan(made.written))
    for name in COLUMNS:
        if name == "layers":
            continue
        for column, kind in COLUMNS[name].items():
            left, right = getattr(again, name)[column], getattr(tables, name)[column]
            if kind == "time":  # a file knows the offset of its zone only
                assert (left == right).all()
            else:
                pd.testing.assert_series_equal(left, right)
    assert again.layers.empty
    assert list(again.layers.columns) == list(COLUMNS["layers"])


def test_numbers_of_a_plan_made_by_hand() -> None:
    """Beds, times, spools and money of the sample, and what is not known in it."""
    made = frames(sample_plan())
    assert repr(made).startswith("<frames: parts 12, pieces 20, batches 5, layers ")
    runs = made.runs.set_index("run")
    assert runs.batch.tolist() == ["bed 2", "bed 1", "bed 3", "bed 4", "bed 5"]
    assert [f"{one:%d %H:%M}" for one in runs.start] == [
        "01 18:25", "01 18:40", "02 18:30", "03 18:15", "04 19:00"
    ]  # fmt: skip
    assert (runs.end - runs.start).dt.total_seconds().tolist() == (runs.minutes * 60.0).tolist()
    assert set(made.spools.spool) == {*(f"spool {n}" for n in range(3, 8)), "foaming PLA new 1"}
    spools = made.spools.set_index("spool")
    assert spools.price["foaming PLA new 1"] == 34.90
    assert pd.isna(spools.price["spool 6"])
    assert set(spools.currency) == {"EUR"}
    assert spools.bought.sum() == 1
    left = spools.grams_before - spools.grams_used - spools.grams_purged
    assert left.tolist() == pytest.approx(spools.grams_left.tolist(), abs=2e-3)
    items = made.mass_items.set_index("what")
    assert items.moment_g_mm["battery 3 cells"] == 186.0 * -95.0
    assert pd.isna(items.moment_g_mm["linkage wire and screws"])
    lines = made.cost_lines.set_index("what")
    assert lines.amount["servo 9 g"] == 27.60  # four at 6.90
    assert pd.isna(lines.amount["receiver"])
    where = made.pieces.set_index("piece")
    assert (where.batch["wing mid R"], where.x_mm["wing mid R"], where.turn_deg["wing mid R"]) == (
        "bed 1", 262.0, 90.0
    )  # fmt: skip
    assert where.mirrored["wing mid R"]
    assert not where.mirrored["wing mid L"]
    assert made.parts.set_index("part").pieces["horn"] == 4
