"""Records of machine files that were read: what they offer, what of them is drawn, what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from planner.api.kept_layers import layers_record
from planner.api.kept_reads import offer_of, read_and_keep, read_record
from planner.api.reading_back import Beds, ReadBed
from planner.api.taking_back import offers_of
from planner.errors import RecordError
from planner.model.printer import Bed
from planner.readback.layers import LayerIndex
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import sample_plan
from tests.unit.api.test_reading_back import Here, moves

INDEX = LayerIndex(0.02, (0.2, 0.4), (3, 4))


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    return tmp_path


def test_what_is_kept_offers_and_draws_what_was_read(folder: Path) -> None:
    """Through JSON and back; a piece that is missing is marked where it should lie."""
    place = Here(folder=folder, plan=folder / "out", zone="UTC")
    one = Beds.of(place).read(moves(folder, "bed 2", without="hatch"))
    (offer,) = offers_of(place, [one])
    record = json.loads(json.dumps(read_record(one, offer)))
    assert offer_of(record) == offer
    assert offer.why_not == "hatch is missing"
    assert [row[0] for row in record["rows"]][:3] == ["grams", "metres", "time"]
    assert record["good"] is False
    told = json.loads(json.dumps(layers_record(one, INDEX, Bed())))
    assert {piece["name"] for piece in told["pieces"] if piece["missing"]} == {"hatch"}
    assert (told["beads"], told["offset_mm"]) == ([3, 4], [0.0, 0.0])
    assert one.planned is not None
    rings = {placed.piece: placed.outline_mm for placed in one.planned.batch.placed}
    for piece in told["pieces"]:
        assert np.array(piece["ring"]) == pytest.approx(np.array(rings[piece["name"]]), abs=0.006)


def test_a_refusal_is_a_record_and_leaves_nothing(folder: Path) -> None:
    """In the words of the reader, without our folders; a stranger has a bed to be drawn on, no pieces."""
    place = Here(folder=folder, plan=folder / "out", zone="UTC")
    path, kept = folder / "odd", folder / "kept"
    path.write_text("G21\nG5 X1\n")
    beds = Beds.of(place)
    record = read_and_keep(place, beds, path, kept)
    assert record["refused"].startswith("odd: line 2 (G5 X1):")
    assert not list(folder.glob("kept*"))
    with pytest.raises(RecordError):
        beds.read(folder / "none")
    told = layers_record(ReadBed(path, 2, None, None), INDEX, Bed(width_mm=100.0))
    assert (told["pieces"], told["bed"]["width_mm"]) == ([], 100.0)
