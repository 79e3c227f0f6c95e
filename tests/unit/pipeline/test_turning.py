"""Parts that would hang less on another face: told with what turning them saves, and offered in drafts."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, draft_files, read_job
from planner.errors import RecordError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.airframe import Airframe
from planner.model.part import Part
from planner.model.recipe import Recipe
from planner.pipeline.job import Job
from planner.pipeline.look import look
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.run import run
from planner.pipeline.turning import HANGS, LET_IT_TURN, with_turns
from planner.units import grams_text, hours_text
from tests.builders import box, joined, moved, scaled, sphere, stl_bytes
from tests.small_sample import sample_job

NOW = datetime(2026, 1, 5, 18, tzinfo=UTC)
HELD = Recipe("held", support="everywhere")
BARE = Recipe("bare", support="none")


def table(high: float = 40.0) -> TriangleMesh:
    """A slab on one leg: on its head nothing hangs."""
    return joined(moved(box(12.0, 12.0, high), 24.0, 24.0), moved(box(60.0, 60.0, 4.0), z=high - 0.001))


def job(recipe: Recipe, mesh: TriangleMesh, **keys: object) -> Job:
    """A job of one part, twice and mirrored."""
    part = Part("table", "table.stl", "kit", recipe, "PLA", copies=2, mirror=True, **keys)  # type: ignore[arg-type]
    return replace(sample_job(), airframe=Airframe("kit", (part,)), meshes={"table.stl": mesh})


def told(made: Job) -> list[str]:
    """What is said of its part."""
    known = weighed(made)
    return [finding.text for finding in with_turns(made, known.parts, known.deposits)["table"]]


def test_grams_and_hours_less_are_those_of_the_turned_plan() -> None:
    """Four pieces: the figures are the difference to the same part that may turn."""
    made = job(HELD, table())
    before, after = weighed(made), weighed(job(HELD, table(), may_turn=True))
    assert after.deposits["table"].support_mm3 < 0.01 * before.deposits["table"].support_mm3
    spared = 4.0 * (before.deposits["table"].mass_g - after.deposits["table"].mass_g)
    quick = [min(float(d.deposits["table"].seconds[k].sum()) for k in ("a", "b")) for d in (before, after)]
    (text,) = (text for text in told(made) if LET_IT_TURN in text)
    assert text.endswith(
        f": {LET_IT_TURN}, {grams_text(spared)} g and {hours_text((quick[0] - quick[1]) / 15.0)} less."
    )
    support = 4.0 * before.deposits["table"].support_mm3 * 1.24e-3
    assert text.startswith(f"{grams_text(support)} g of support as it stands")
    assert spared > 0.8 * support


def test_the_doubt_about_what_hangs_says_it_where_nothing_holds_it() -> None:
    """Without support the doubt that is there goes on: no second one."""
    (text,) = (text for text in told(job(BARE, table())) if HANGS in text)
    assert text.endswith(f" Or {LET_IT_TURN}: 100 % less hangs then.")


@pytest.mark.parametrize(
    ("recipe", "mesh", "keys"),
    [
        (HELD, table(), {"may_turn": True}),
        (BARE, table(), {"may_turn": True}),
        (HELD, box(40.0, 30.0, 10.0), {}),
        (BARE, box(40.0, 30.0, 10.0), {}),
        (HELD, sphere(40.0), {}),  # no face to stand on
        (BARE, sphere(40.0), {}),
        (HELD, scaled(table(), 0.15), {}),  # too little support to speak of
    ],
)
def test_nothing_is_proposed_that_spares_nothing(
    recipe: Recipe, mesh: TriangleMesh, keys: dict[str, object]
) -> None:
    """It turns already, nothing hangs, or it hangs on every face."""
    assert not any(LET_IT_TURN in text for text in told(job(recipe, mesh, **keys)))


def test_plan_and_look_tell_it_once() -> None:
    """In the findings of the plan, and of `planner check`."""
    made = job(HELD, table())
    plan = run(made)
    assert sum(LET_IT_TURN in finding.text for finding in plan.findings) == 1
    assert [d.text for d in plan.deposits["table"].findings if LET_IT_TURN in d.text] == [
        finding.text for finding in plan.findings if LET_IT_TURN in finding.text
    ]
    (mesh,) = look(made).meshes
    assert sum(LET_IT_TURN in finding.text for finding in mesh.findings) == 1


def folder_with(tmp_path: Path, text: str) -> Path:
    """Three tables and what their airframe file says."""
    for name in ("a", "b", "c"):
        (tmp_path / f"{name}.stl").write_bytes(stl_bytes(table()))
    (tmp_path / "airframe.toml").write_text(text, encoding="utf-8")
    return tmp_path


def test_defaults_let_every_part_turn_that_says_nothing_else(tmp_path: Path) -> None:
    """A row that says false stands as it is, and so does one that names its pose."""
    text = (
        '[defaults]\nmay_turn = true\n[[part]]\nmesh = "a.stl"\nmay_turn = false\n'
        '[[part]]\nmesh = "b.stl"\npose = [1, 0, 0, 0, 1, 0, 0, 0, 1]\n'
    )
    made = read_job(PlanRequest((folder_with(tmp_path, text),)), NOW)
    assert {part.name: part.may_turn for part in made.airframe.parts} == {"a": False, "b": False, "c": True}
    plain = read_job(
        PlanRequest((folder_with(tmp_path, '[[part]]\nmesh = "a.stl"\nmay_turn = true\n'),)), NOW
    )
    assert {part.name: part.may_turn for part in plain.airframe.parts} == {"a": True, "b": False, "c": False}


def test_a_wrong_default_is_refused_with_its_line(tmp_path: Path) -> None:
    """As every key is."""
    with pytest.raises(RecordError, match=r"line 2: defaults.may_turn = 'yes' must be true or false"):
        read_job(PlanRequest((folder_with(tmp_path, '[defaults]\nmay_turn = "yes"\n'),)), NOW)


def test_a_draft_offers_it_with_the_reason(tmp_path: Path) -> None:
    """A line to be uncommented, which then counts; none where nothing hangs."""
    folder = folder_with(tmp_path, "")
    (folder / "airframe.toml").unlink()
    draft_files(folder)
    draft = (folder / "airframe.toml").read_text(encoding="utf-8")
    line = next(line for line in draft.splitlines() if "may_turn" in line)
    assert line.startswith("# may_turn = true  # on another flat face less hangs in the air: a.stl by 100 %")
    (folder / "airframe.toml").write_text(draft.replace("# may_turn", "may_turn"), encoding="utf-8")
    assert all(part.may_turn for part in read_job(PlanRequest((folder,)), NOW).airframe.parts)
    plain = tmp_path / "plain"
    plain.mkdir()
    (plain / "box.stl").write_bytes(stl_bytes(box(30.0, 20.0, 10.0)))
    draft_files(plain)
    assert "may_turn" not in (plain / "airframe.toml").read_text(encoding="utf-8")
