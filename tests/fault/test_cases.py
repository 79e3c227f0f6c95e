"""Small files on which something failed once, each with the sentence that is told of it beside it.

A case is two files in ``cases``: the file as it is given to the planner, and the sentence in ``NAME.txt``. A
mesh lies in a folder beside a sound one and is read as folders are; a ``.toml`` is read as ``workshop.toml``,
one that is called ``airframe_...`` as ``airframe.toml``; a ``.zip`` is unpacked, a ``.json`` read as a plan
that another goes on from, a ``.sqlite`` looked through as a ledger. What is not refused tells ``read:``
and the names of what came of it.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.api.ledger_files import check_ledger
from planner.api.reading import workshop_of
from planner.errors import LONGEST, PlannerError
from planner.io.meshes.archive import unpack
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_meshes
from planner.io.records.airframe_record import read_airframe
from planner.io.records.builtin import builtin_recipes
from planner.io.results.plan_file import read_plan
from planner.io.toml_file import read_toml
from tests import builders as build

CASES = Path(__file__).parent / "cases"
FILES = sorted(path for path in CASES.iterdir() if path.is_file() and path.suffix != ".txt")
MOST_BYTES = 2000
LONGEST_S = 5.0  # of a file of two kilobytes
SOUND = "sound.stl"
READS: dict[str, tuple[str, Callable[[Path], object]]] = {
    ".json": ("plan.json", read_plan),
    ".sqlite": ("ledger.sqlite", check_ledger),
}


def told(case: Path, folder: Path) -> str:
    """The sentence that is told of a file, or what was read of it."""
    try:
        if case.suffix in READS:
            name, read = READS[case.suffix]
            read(Path(shutil.copy(case, folder / name)))
            return f"read: {name}"
        if case.name.startswith("airframe_"):
            file = read_toml(Path(shutil.copy(case, folder / "airframe.toml")))
            read_airframe(file, (), builtin_recipes(), "EUR", name="kit")
            return "read: airframe.toml"
        if case.suffix == ".toml":
            workshop_of(read_toml(Path(shutil.copy(case, folder / "workshop.toml"))))
            return "read: workshop.toml"
        given = Path(shutil.copy(case, folder))
        if case.suffix == ".zip":
            unpacked = unpack(given, Limits())
            return f"read: {', '.join(sorted(path.name for path in unpacked.rglob('*')))}"
    except PlannerError as error:
        return str(error).replace(f"{folder}{os.sep}", "")
    (folder / SOUND).write_bytes(build.stl_bytes(build.box(10, 20, 30)))
    found = read_meshes(folder, limits=Limits())
    names = [record.name for record in found.meshes]
    assert SOUND in names, "a sound mesh is lost"
    if found.set_aside:
        return "; ".join(aside.reason for aside in found.set_aside)
    return f"read: {', '.join(name for name in names if name != SOUND)}"


@pytest.mark.parametrize("case", FILES, ids=[path.name for path in FILES])
def test_what_is_told_of_it(case: Path, tmp_path: Path) -> None:
    """Word for word what stands beside it, soon, and never longer than a message may be."""
    if case.suffix == ".step":
        pytest.importorskip("cascadio")
    assert case.stat().st_size < MOST_BYTES
    began = time.process_time()
    said = told(case, tmp_path)
    assert time.process_time() - began < LONGEST_S
    assert len(said) <= LONGEST
    assert said == case.with_name(f"{case.name}.txt").read_text(encoding="utf-8").strip()


def test_every_sentence_has_its_file() -> None:
    """And there are some of each kind."""
    sentences = {path.name.removesuffix(".txt") for path in CASES.glob("*.txt")}
    assert sentences == {path.name for path in FILES}
    assert {path.suffix for path in FILES} >= {".3mf", ".obj", ".stl", ".step", ".toml", ".zip", *READS}
    assert any(path.name.startswith("airframe_") for path in FILES)
