"""Beds, runs and memory of an earlier plan as the values that a later one goes on from."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from planner.io.results.plan_beds import batch_of, past_run_of, run_of
from planner.io.results.plan_printed import earlier_part, printed_piece, weights
from planner.model.budget import Place
from planner.model.printed import Make
from planner.model.schedule import Draw
from planner.plan_record.beds import BatchRecord
from planner.plan_record.faults import Fault
from planner.plan_record.parts import PartRecord
from planner.plan_record.runs import RunRecord
from planner.plan_record.series import PastRecord, PrintedRecord
from planner.plan_record.sums import MassRecord
from planner.plan_record.values import read_custom
from tests.unit.plan_record.test_sections import BATCH, RUN


def of(kind: Any, value: dict[str, Any]) -> Any:
    return msgspec.convert(value, kind, dec_hook=read_custom)


def test_a_bed_with_its_pieces() -> None:
    """Numbers in their places; a bed without a digest has none, whether null or not told."""
    bed = batch_of(of(BatchRecord, {**BATCH, "fill": 0.25, "minutes": 12.5, "height_mm": 7.0}))
    assert (bed.name, bed.printer_kind, bed.filament) == ("bed 1", "k", "PLA")
    assert (bed.layer_height_mm, bed.minutes, bed.mass_g, bed.height_mm, bed.fill) == (
        0.2,
        12.5,
        1.0,
        7.0,
        0.25,
    )
    (piece,) = bed.placed
    assert (piece.piece, piece.x_mm, piece.y_mm, piece.turn_deg, piece.height_mm) == (
        "fin",
        -1.5,
        0.0,
        90.0,
        0.0,
    )
    assert piece.outline_mm == ((0.0, 0.0), (1.0, 0.0), (0.0, 1.5))
    assert bed.digest == batch_of(of(BatchRecord, {**BATCH, "model_sha256": None})).digest == ""
    assert batch_of(of(BatchRecord, {**BATCH, "model_sha256": "ab" * 32})).digest == "ab" * 32


def test_a_run_of_old_lacks_what_was_added_since() -> None:
    run = run_of(of(RunRecord, RUN), "runs[0]")
    assert run.draws == (Draw("s", 1.0, 0.0),)
    assert (run.changed_from, run.mark, run.dry_at, run.short_g) == (None, "", None, 0.0)
    told = {**RUN, "changed_from": "ASA", "mark": "failed", "dry_at": RUN["start"], "short_g": 2.5,
            "spools": [{"spool": "s", "grams": 3, "before_g": 1.5}]}  # fmt: skip
    run = run_of(of(RunRecord, told), "runs[0]")
    assert run.draws == (Draw("s", 3.0, 1.5),)
    assert (run.changed_from, run.mark, run.dry_at, run.short_g) == ("ASA", "failed", run.start, 2.5)
    for nothing in (None, ""):
        assert run_of(of(RunRecord, {**RUN, "mark": nothing}), "").mark == ""


def test_a_run_that_ends_before_it_starts_is_refused() -> None:
    """Compared as moments, not as texts: 18:30 one hour east is before 18:00."""
    with pytest.raises(Fault) as caught:
        run_of(of(RunRecord, {**RUN, "end": "2026-12-01T18:30:00+01:00"}), "runs[3]")
    assert (caught.value.place, caught.value.wanted) == ("runs[3].end", "after its start")
    run_of(of(RunRecord, RUN), "runs[3]")  # at once is no fault


def test_a_run_that_is_over() -> None:
    """It bears no mark any more, and its faults are named inside it."""
    past = {
        "outcome": "failed",
        "good": ["fin"],
        "on_bed": True,
        "run": {**RUN, "mark": "failed"},
        "batch": BATCH,
    }
    made = past_run_of(of(PastRecord, past), "past[0]")
    assert (made.outcome, made.good, made.on_bed, made.scrapped, made.run.mark) == (
        "failed",
        ("fin",),
        True,
        (),
        "",
    )
    made = past_run_of(of(PastRecord, {**past, "scrapped": ["fin"]}), "past[0]")
    assert made.delivered == ()
    late = {**past, "run": {**RUN, "end": "2026-12-01T17:59:59+00:00"}}
    with pytest.raises(Fault, match=r"past\[2\]\.run\.end"):
        past_run_of(of(PastRecord, late), "past[2]")


ROTATION = [1.0, 0.0, 0.0, 0.0, 0.0, -1.0, 0.0, 1.0, 0.0]
PIECE = {"piece": "fin", "bed": "bed 2", "filament": "PLA", "recipe": "skin", "mass_g": 9.0, "flying_g": 8.0}
MADE = {"mesh_sha256": "ab" * 32, "recipe_sha256": "cd" * 32, "rotation": ROTATION}


def test_a_printed_piece_as_it_was_made() -> None:
    """Where it sat then; an old plan tells neither make nor place."""
    old = printed_piece(of(PrintedRecord, PIECE), "printed[0]")
    assert (old.piece, old.batch, old.mass_g, old.flying_g) == ("fin", "bed 2", 9.0, 8.0)
    assert old.make is old.place is None
    at = {"station_mm": 5.0, "across_mm": None, "up_mm": -2.0}
    new = printed_piece(of(PrintedRecord, {**PIECE, **MADE, **at}), "printed[0]")
    assert new.make == Make("ab" * 32, tuple(ROTATION), "skin", "cd" * 32, "PLA")
    assert new.place == Place(5.0, None, -2.0, "as it was printed")


@pytest.mark.parametrize("gone", ["recipe_sha256", "rotation"])
@pytest.mark.parametrize("how", ["null", "missing"])
def test_half_a_make_is_refused(gone: str, how: str) -> None:
    """With a mesh, recipe and pose must be known; without one, nothing is asked."""
    told: dict[str, Any] = {**PIECE, **MADE}
    told[gone] = None
    if how == "missing":
        del told[gone]
    with pytest.raises(Fault) as caught:
        printed_piece(of(PrintedRecord, told), "printed[4]")
    assert (caught.value.place, caught.value.value, caught.value.wanted) == (
        f"printed[4].{gone}",
        "nothing",
        "given",
    )
    told["mesh_sha256"] = None
    assert printed_piece(of(PrintedRecord, told), "printed[4]").make is None


def test_a_part_as_the_plan_knew_it() -> None:
    """The pose of its make is its own."""
    part = {"part": "fin", "filament": "PLA", "recipe": "skin", "mass_g": 3.5, "pose": {"rotation": ROTATION}}
    assert earlier_part(of(PartRecord, part), "parts[0]").make is None
    made = earlier_part(
        of(PartRecord, {**part, "mesh_sha256": "ab" * 32, "recipe_sha256": "cd" * 32}), "parts[0]"
    )
    assert (made.filament, made.recipe, made.mass_g) == ("PLA", "skin", 3.5)
    assert made.make is not None
    assert made.make.rotation == tuple(ROTATION)
    with pytest.raises(Fault, match=r"parts\[1\]\.recipe_sha256"):
        earlier_part(of(PartRecord, {**part, "mesh_sha256": "ab" * 32}), "parts[1]")


def test_weights_are_those_of_printed_pieces_only() -> None:
    """A fitting of the same name is none."""
    items = [
        {"what": "fin", "kind": "printed", "mass_g": 3.0, "station_mm": 702.0, "across_mm": 1.0},
        {"what": "hatch", "kind": "printed", "mass_g": 4.0},
        {"what": "motor", "kind": "fitting", "mass_g": 58.0, "station_mm": -180.0},
    ]
    assert weights(of(MassRecord, {"items": items})) == {
        "fin": (3.0, Place(702.0, 1.0, None, "as it was printed")),
        "hatch": (4.0, None),
    }
