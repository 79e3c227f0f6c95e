"""Files of a plan's beds are told in 80 columns, as JSON, and by the code of the command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.api.ledger_place import LedgerPlace
from planner.api.read_back_json import read_back_json
from planner.api.read_back_text import read_back_text
from planner.api.reading_back import ReadBack, read_back
from planner.cli.main import app
from planner.errors import RecordError
from planner.model.workshop import Workshop
from planner.report.exports.plan_json import plan_json
from tests.machine_files.beds import file_of
from tests.machine_files.writer import Style
from tests.plan_samples import sample_plan
from tests.sample_workshop import sample_workshop

PLAN = sample_plan()
BATCHES = {batch.name: batch for batch in PLAN.batches}
WORKSHOP = """
[[printer]]
name = "large"
kind = "large 300"
bed = { width_mm = 300, depth_mm = 300 }

[[printer]]
name = "small"
kind = "small 220"

[[printer]]
name = "round"
kind = "round 240"
bed = { shape = "round", width_mm = 240, depth_mm = 240 }

[[filament]]
name = "foaming PLA"
material = "PLA"
solid_g_per_cm3 = 1.20
deposited_g_per_cm3 = 0.62
foaming = true
"""


class Here(LedgerPlace):
    """A place with the workshop of the sample plan."""

    def shop(self) -> Workshop:
        return sample_workshop()


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(PLAN), encoding="utf-8")
    return tmp_path


def moves(folder: Path, bed: str, name: str = "", **how: object) -> Path:
    """A file of walls with the grams of a bed."""
    batch = BATCHES[bed]
    filament = sample_workshop().filament(batch.filament)
    mm3 = batch.mass_g * 1000.0 / filament.solid_g_per_cm3
    path = folder / (name or f"{bed}.moves")
    style = Style(retract_mm=0.0, temperatures=(filament.nozzle_c, 60.0))
    path.write_text(file_of(batch, mm3=mm3, style=style, **how))  # type: ignore[arg-type]
    return path


def found(folder: Path, *files: Path, units: str = "") -> ReadBack:
    return read_back(Here(folder=folder, plan=folder / "out", zone="UTC"), files, units)


def test_each_file_is_held_against_its_bed(folder: Path):
    seen = found(folder, moves(folder, "bed 2"), moves(folder, "bed 4"))
    assert [one.said.match.bed for one in seen.beds if one.said] == ["bed 2", "bed 4"]
    assert seen.unread == ("bed 1", "bed 3", "bed 5")
    lines = read_back_text(seen)
    assert all(len(line) <= 80 for line in lines)
    text = "\n".join(lines)
    assert "bed 2 on small  <-  bed 2.moves" in text
    assert "not read back yet: bed 1, bed 3, bed 5" in text
    grams = next(line.split() for line in lines if line.strip().startswith("grams"))
    assert float(grams[2]) == pytest.approx(float(grams[1]), rel=0.01)


@pytest.mark.slow
def test_a_missing_piece_and_a_file_of_no_bed(folder: Path):
    other = folder / "other.moves"
    other.write_text("G21\nG90\nM83\nG0 X5 Y5 Z.2\nG1 X9 E1 F900\nG1 Y9 E1\nG1 X5 E1\nG1 Y5 E1\n")
    seen = found(folder, moves(folder, "bed 2", without="hatch"), other)
    assert not seen.clean
    text = "\n".join(read_back_text(seen))
    assert "! hatch is missing" in text
    assert "other.moves: no bed of this plan looks like it" in text
    rows = json.loads(read_back_json(seen))
    assert rows["files"][0]["pieces"]["missing"] == ["hatch"]
    assert rows["files"][1] == {"file": "other.moves", "lines": 8, "bed": None}
    assert rows["clean"] is False


@pytest.mark.slow
def test_two_files_of_one_bed(folder: Path):
    seen = found(folder, moves(folder, "bed 4", "a"), moves(folder, "bed 4", "b"))
    assert seen.faults == ("bed 4 is printed by 2 files: a, b",)
    assert not seen.clean


def test_what_is_refused(folder: Path):
    with pytest.raises(RecordError, match="no machine file is named"):
        found(folder)
    with pytest.raises(RecordError, match="'furlong' is no unit"):
        found(folder, moves(folder, "bed 2"), units="furlong")
    with pytest.raises(RecordError, match="there is no plan here"):
        read_back(Here(folder=folder, plan=folder / "none"), [folder / "x"])


@pytest.mark.slow
def test_the_command(folder: Path):
    (folder / "workshop.toml").write_text(WORKSHOP)
    path = moves(folder, "bed 2", without="hatch")
    words = ["readback", str(folder), str(path), "--plan", str(folder / "out")]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 1, done.output
    assert "! hatch is missing" in done.output
    done = CliRunner().invoke(app, [*words, "--json"])
    assert json.loads(done.output)["files"][0]["bed"] == "bed 2"
    done = CliRunner().invoke(
        app, ["readback", str(path), "--in", str(folder), "--plan", str(folder / "out")]
    )
    assert done.exit_code == 1
    path.write_text("G21\nG5 X1\n")
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 2
    assert "line 2 (G5 X1): G5 is no G word that is read." in done.output
    (folder / "good.moves").write_text(moves(folder, "bed 4").read_text())
    done = CliRunner().invoke(app, [*words[:2], str(folder / "good.moves"), *words[3:]])
    assert "bed 4 on small" in done.output
