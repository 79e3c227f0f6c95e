"""What the functions for Python are given, and what they give back."""

from __future__ import annotations

import html
import json
import pickle
import re
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

import planner
from planner.api.door import Asked
from planner.model import plan as model
from planner.report.bundle import bed_plan_paths, documents
from tests.small_job import write_small_job

START = "2026-12-01T18:00"


@pytest.fixture(name="folder", scope="module")
def _folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_small_job(tmp_path_factory.mktemp("door") / "kit")


@pytest.fixture(name="made", scope="module")
def _made(folder: Path) -> planner.Plan:
    return planner.plan(folder, start=START, effort="quick", cache=False)


def test_a_plan_shows_itself_in_a_few_words(made: planner.Plan) -> None:
    """A card, not every field; the value of the model, too."""
    assert len(repr(made)) < 300
    assert "'Test glider'" in repr(made)
    plain = model.Plan(**{name: getattr(made, name) for name in model.Plan.__dataclass_fields__})
    assert repr(plain) == repr(made)
    assert len(repr(next(iter(made.deposits.values())))) < 100


def test_a_notebook_shows_the_sheet_of_answers_in_a_frame_without_scripts(made: planner.Plan) -> None:
    """The sheet is whole inside the frame, and nothing of it reaches the notebook around."""
    shown = made._repr_html_()
    inside = re.fullmatch(r'<iframe sandbox="" style="[^"]*" srcdoc="([^"]*)"></iframe>', shown)
    assert inside is not None
    page = html.unescape(inside[1])
    assert page.lower().startswith("<!doctype html>")
    assert "Shall we print it?" in page
    assert "Test glider" in page
    assert "<script" not in page


def test_a_bed_plan_is_the_drawing_of_the_results_folder(made: planner.Plan) -> None:
    """Well-formed, with every piece of the bed; another name is refused."""
    bed = made.batches[0]
    drawn = made.bed_plan(bed.name)._repr_svg_()
    assert ElementTree.fromstring(drawn).tag == "{http://www.w3.org/2000/svg}svg"
    assert drawn == dict(documents(made))[bed_plan_paths(made)[bed.name]].decode("utf-8")
    with pytest.raises(planner.errors.InputError, match="no bed 'bed 99'"):
        made.bed_plan("bed 99")


def test_a_plan_survives_pickling(made: planner.Plan) -> None:
    """Programs send plans from process to process."""
    again = pickle.loads(pickle.dumps(made))  # noqa: S301  our own bytes
    assert isinstance(again, planner.Plan)
    assert again.to_json() == made.to_json()


def test_what_is_written_is_what_is_given_back(folder: Path, tmp_path: Path) -> None:
    """The results folder holds the same plan; read back, it goes on."""
    written = planner.plan(folder, start=START, effort="quick", cache=False, out=tmp_path / "out")
    assert (tmp_path / "out" / "plan.json").read_text(encoding="utf-8") == written.to_json()
    assert written.written == tmp_path / "out"
    assert written.summary().splitlines()[-1].endswith("report.html")
    earlier = planner.read_plan(tmp_path / "out")
    assert earlier.record == json.loads(written.to_json())
    marks = planner.Marks(done=(earlier.runs[0].batch,))
    later = planner.plan(
        folder,
        since=planner.Since(tmp_path / "out", marks),
        start="2026-12-03T18:00",
        effort="quick",
        cache=False,
        verify=True,
    )
    assert [past.batch.name for past in later.past] == [earlier.runs[0].batch]


def test_values_of_ones_own_count(folder: Path, made: planner.Plan) -> None:
    """A printer, a filament and a shelf that no file and no table knows."""
    desk = replace(planner.printers()["desktop 220"], name="mine", kind="mine", clear_height_mm=190.0)
    heavy = replace(
        planner.filaments()["PLA"],
        name="heavy",
        solid_g_per_cm3=2.48,
        deposited_g_per_cm3=2.48,
        spool_g=300.0,
    )
    other = planner.plan(
        folder,
        printers=[desk, "desktop 250"],
        filaments=[heavy],
        spools=[planner.Spool("left over", "heavy", 250.0)],
        start=datetime(2026, 12, 1, 18, 0, tzinfo=ZoneInfo("Europe/Lisbon")),
        effort="quick",
        cache=False,
    )
    assert [printer.name for printer in other.workshop.printers] == ["mine", "desktop 250"]
    assert {batch.printer_kind for batch in other.batches} <= {"mine", "desktop 250"}
    light, grave = made.deposits["fuselage"], other.deposits["fuselage"]
    assert grave.mass_g == pytest.approx(2.0 * light.mass_g)  # twice as dense, bead for bead the same
    assert "left over" in {use.spool for use in other.spools}
    assert any("heavy" in note for note in other.assumptions)
    assert other.start == made.start


def test_records_as_values(folder: Path, made: planner.Plan) -> None:
    """Airframe and workshop of a plan make the same plan again; a changed one another."""
    same = planner.plan(
        folder, airframe=made.airframe, workshop=made.workshop, start=START, effort="quick", cache=False
    )
    assert same.batches == made.batches
    assert same.mass == made.mass
    part = replace(made.airframe.parts[1], recipe=replace(made.airframe.parts[1].recipe, layer_height_mm=0.1))
    finer = replace(made.airframe, parts=(made.airframe.parts[0], part, *made.airframe.parts[2:]))
    other = planner.plan(folder, airframe=finer, start=START, effort="quick", cache=False)
    assert len(other.deposits[part.name].layers) == 2 * len(made.deposits[part.name].layers)


@pytest.mark.slow
def test_the_page_about_python_runs(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its programs, one after the other, on a folder of that name."""
    (tmp_path / "demo_meshes").symlink_to(folder, target_is_directory=True)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    page = (Path(__file__).parents[3] / "docs" / "python.md").read_text(encoding="utf-8")
    programs = re.findall(r"```python\n(.*?)```", page, flags=re.DOTALL)
    assert len(programs) >= 2
    names: dict[str, Any] = {}
    for program in programs:
        exec(program, names)  # noqa: S102  our own page
    assert names["again"].mass.printed_g > names["plan"].mass.printed_g


def test_a_trade_off_gives_plans_that_show_themselves(
    folder: Path, made: planner.Plan, tmp_path: Path
) -> None:
    """Both plans of it, and the folder that it was written to."""
    found = planner.tradeoff(
        folder,
        mass_at_most_g=made.mass.total_g - 1.0,
        start=START,
        effort="quick",
        cache=False,
        out=tmp_path / "lighter",
    )
    assert isinstance(found.before, planner.Plan)
    assert not found.refusal
    assert isinstance(found.after, planner.Plan)
    assert found.after.mass.total_g <= made.mass.total_g - 1.0
    assert (tmp_path / "lighter" / "tradeoff.json").is_file()
    assert str(tmp_path / "lighter" / "tradeoff.html") in found.summary()
    assert len(repr(found)) < 300


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"effrot": "quick"}, "'effrot' is nothing that can be asked for"),
        ({"effort": "hard"}, "'hard' is not one of"),
        ({"filaments": "cheese"}, "cheese"),
        ({"printers": "no such"}, "no such"),
        ({"start": "tomorrow"}, "is not a date and time"),
        ({"spools": [planner.Spool("x", "cheese", 10.0)]}, "cheese"),
    ],
)
def test_what_cannot_be_is_refused_in_words(folder: Path, asked: dict[str, object], told: str) -> None:
    """An error of the tree, with the value in it."""
    with pytest.raises(planner.errors.InputError, match=told):
        planner.plan(folder, **asked)  # type: ignore[arg-type]


def test_a_request_stands_alone(folder: Path, tmp_path: Path) -> None:
    """Nothing may be asked beside it; an airframe of another folder is refused."""
    asked = planner.Request((folder,), out=tmp_path / "out")
    with pytest.raises(planner.errors.InputError, match="a Request says everything itself"):
        planner.plan(asked, seed=3)
    part = planner.Part("a", "not_there.stl", "s", planner.recipes()["plain"], "PLA")
    with pytest.raises(planner.errors.RecordError, match="not_there"):
        planner.plan(folder, airframe=planner.Airframe("x", (part,)), cache=False)
    with pytest.raises(planner.errors.InputError, match="no folder"):
        planner.plan([])


@pytest.mark.parametrize("name", sorted(Asked.__annotations__))
def test_nothing_is_taken_that_would_not_count(folder: Path, name: str) -> None:
    """A look has no search, a trade-off no earlier plan: what they cannot use is refused by its name."""
    searches = {"options", "start", "effort", "seed"}
    plans = {"missed", "prefer", "risk", "since", "verify", "stop"}
    for function, refused in ((planner.check, searches | plans), (planner.tradeoff, plans)):
        if name in refused:
            with pytest.raises(
                planner.errors.InputError, match=f"'{name}' is nothing .* of {function.__name__}"
            ):
                function(folder, **{name: None})


def test_single_questions_refuse_what_they_do_not_know(folder: Path) -> None:
    """A built-in row that is none; a file with several objects or none."""
    mesh = planner.read_mesh(folder / "fuselage.stl")
    with pytest.raises(planner.errors.RecordError, match="no built-in recipe 'soft'"):
        planner.deposit_of(mesh, recipe="soft")
    (folder.parent / "bad.stl").write_bytes(b"solid nothing\nendsolid\n")
    with pytest.raises(planner.errors.MeshError, match="holds no facet"):
        planner.read_mesh(folder.parent / "bad.stl")


def test_a_plan_is_lived_through_where_that_is_asked(folder: Path) -> None:
    """As many worlds as asked for; a missed visit without any is refused."""
    with pytest.raises(planner.errors.InputError, match="missed visits count in simulated worlds only"):
        planner.plan(folder, missed=0.1)
    with pytest.raises(planner.errors.InputError, match="worlds of the risk"):
        planner.plan(folder, risk=0)
    made = planner.plan(folder, effort="quick", start="2026-12-01T18:00", risk=20, missed=0.1, cache=False)
    assert made.risk is not None
    assert (made.risk.chances.asked.worlds, made.risk.chances.asked.missed) == (20, 0.1)
