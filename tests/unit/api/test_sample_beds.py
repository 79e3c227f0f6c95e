"""Beds that are searched for only to have the search compiled: they are real ones, and brief."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.api.preparing import search
from planner.api.reading import workshop_of
from planner.api.sample import write_sample
from planner.api.sample_beds import beds, crowd
from planner.io.toml_file import read_toml
from planner.nesting.separation import separate


def test_the_crowd_makes_the_search_weigh_what_overlaps(monkeypatch: pytest.MonkeyPatch) -> None:
    """There is no room for it, so that whatever the search compiles late is compiled with it."""
    weighed = []
    monkeypatch.setattr(separate, "weigh", lambda *_: weighed.append(1))
    assert not crowd()
    assert weighed


@pytest.mark.slow
def test_every_piece_has_a_bed_and_every_bed_a_run(tmp_path: Path) -> None:
    """Of two filaments, on both printers of the kit, one of them round and with a corner kept free."""
    write_sample(tmp_path / "kit")
    workshop, _, _ = workshop_of(read_toml(tmp_path / "kit" / "workshop.toml"))
    made = beds(workshop)
    assert made.misfits == ()
    assert sum(len(bed.placed) for bed in made.batches) == 3 + 2 + 4 + 1 + 2
    assert {run.batch for run in made.schedule.runs} == {bed.name for bed in made.batches}
    assert {bed.filament for bed in made.batches} == {"PLA", "PETG"}


@pytest.mark.slow
def test_the_search_alone_looks_at_no_mesh(tmp_path: Path) -> None:
    """A workshop file is all that it takes."""
    write_sample(tmp_path / "kit")
    for mesh in (tmp_path / "kit").glob("*.stl"):
        mesh.unlink()
    search(str(tmp_path / "kit"))
