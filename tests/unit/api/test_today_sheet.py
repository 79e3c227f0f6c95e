"""What the page shows of a day: beds as they lie, spools as they are, what can still come."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.api.shelving import SpoolTold, spool_weighed
from planner.api.today import today
from planner.api.today_sheet import today_sheet
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import START, sample_plan

WORKSHOP = """time_zone = "UTC"
[[spool]]
name = "spool 3"
filament = "PLA"
grams_left = 700
[[spool]]
name = "spool 4"
filament = "PLA"
grams_left = 300
"""


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    (tmp_path / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    return LedgerPlace(folder=tmp_path, plan=tmp_path / "out", zone="UTC")


def test_it_tells_what_today_tells(place: LedgerPlace) -> None:
    """The same value, and the series that the facts are about."""
    found = today_sheet(place, START)
    assert found.today == today(place, START)
    assert found.series == place.earlier().series


def test_beds_are_drawn_as_they_lie(place: LedgerPlace) -> None:
    """Size and shape of the bed, numbers in the order of the plan, outlines to the last digit."""
    plan = sample_plan()
    found = today_sheet(place, START).pictures
    assert set(found) == {batch.name for batch in plan.batches}
    for batch in plan.batches:
        picture = found[batch.name]
        assert [piece.piece for piece in picture.pieces] == [placed.piece for placed in batch.placed]
        assert [piece.number for piece in picture.pieces] == list(range(1, len(batch.placed) + 1))
        for piece, placed in zip(picture.pieces, batch.placed, strict=True):
            assert [point for at in piece.outline_mm for point in at] == pytest.approx(
                [value for at in placed.outline_mm for value in at], abs=0.01
            )
            assert all(0.0 <= x <= picture.width_mm for x, _ in piece.outline_mm)
    assert found["bed 3"].shape == "round"
    assert (found["bed 3"].width_mm, found["bed 3"].depth_mm) == (240.0, 240.0)


def test_a_bed_of_no_known_size_is_as_large_as_what_lies_on_it(place: LedgerPlace) -> None:
    """Plans of old do not tell it."""
    text = place.plan_file.read_text(encoding="utf-8")
    place.plan_file.write_text(text.replace('"bed":', '"bed_of_old":'), encoding="utf-8")
    picture = today_sheet(place, START).pictures["bed 1"]
    points = [point for piece in picture.pieces for point in piece.outline_mm]
    assert picture.width_mm == pytest.approx(max(x for x, _ in points) + 1.0)
    assert picture.shape == "rectangle"


def test_beds_that_are_over_come_no_more(place: LedgerPlace) -> None:
    """Those that run are among the beds of now; all others may still come."""
    record(place, Told(("bed 1", "done")), START + timedelta(hours=1))
    record(place, Told(("bed 2", "began")), START + timedelta(hours=1))
    found = today_sheet(place, START + timedelta(hours=1))
    assert [bed.bed for bed in found.today.beds] == ["bed 2"]
    assert found.later == ("bed 3", "bed 4", "bed 5")
    assert "bed 1" not in found.pictures
    assert set(found.today.there) == {"wing root L", "wing root R", "wing mid L", "wing mid R"}


def test_spools_are_those_of_ledger_and_workshop(place: LedgerPlace) -> None:
    """An account goes before the file."""
    assert [(one.name, one.grams, one.accounted) for one in today_sheet(place, START).spools] == [
        ("spool 3", 700.0, False),
        ("spool 4", 300.0, False),
    ]
    spool_weighed(place, SpoolTold("spool 4", grams="500", tare_g=250.0), START)
    assert [(one.name, one.grams, one.accounted) for one in today_sheet(place, START).spools] == [
        ("spool 4", 250.0, True),
        ("spool 3", 700.0, False),
    ]
