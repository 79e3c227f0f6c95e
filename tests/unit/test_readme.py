"""The README and the pages of docs tell the truth: commands run, every command, option and key is named."""

from __future__ import annotations

import dataclasses
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import click
import pytest
import typer

from planner.cli.main import app
from planner.io.records.airframe_record import read_airframe
from planner.io.records.builtin import builtin_filaments, builtin_printers, builtin_recipes
from planner.io.records.part_record import MeshHint
from planner.io.records.record import Record
from planner.io.records.workshop_record import read_workshop
from planner.io.toml_file import parse_toml
from planner.model.filament import Filament
from planner.model.printer import Bed, Motion, Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = {page.name: page.read_text(encoding="utf-8") for page in sorted((ROOT / "docs").glob("*.md"))}
DOCS = "\n".join(PAGES.values())
EXAMPLES = [line for line in README.splitlines() if line.startswith("planner ")]
SHOWN = [line for line in DOCS.splitlines() if line.startswith("planner ")]
LONGEST_LINE = 120


def _options() -> list[tuple[str, str]]:
    group = typer.main.get_command(app)
    found = []
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        for parameter in command.params:
            found += [(name, word) for word in parameter.opts if word.startswith("--") and word != "--help"]
    return found


@pytest.mark.parametrize(("command", "option"), _options())
def test_every_command_and_option_is_in_the_docs(command: str, option: str) -> None:
    """Nothing can be asked for that no page tells."""
    assert f"`planner {command}" in PAGES["commands.md"]
    assert f"`{option}" in DOCS


@pytest.mark.parametrize("line", EXAMPLES + SHOWN)
def test_the_examples_can_be_read(line: str) -> None:
    """Every command of README and docs is one, with options that it has."""
    group = typer.main.get_command(app)
    name, *words = shlex.split(line)[1:]
    command = group.get_command(click.Context(group), name)  # type: ignore[attr-defined]
    assert command is not None
    command.make_context(name, words, resilient_parsing=False).close()


@pytest.mark.slow
def test_the_examples_run(tmp_path: Path) -> None:
    """The commands of the README end with 0 on the demo, as printed."""
    assert len(EXAMPLES) >= 3
    (tmp_path / "demo_meshes").symlink_to(ROOT / "demo_meshes", target_is_directory=True)
    (tmp_path / "my_glider").mkdir()
    (tmp_path / "my_glider" / "part.stl").write_bytes((ROOT / "demo_meshes" / "skid_TPU.stl").read_bytes())
    for line in EXAMPLES:
        words = shlex.split(line)[1:]
        done = subprocess.run(
            [sys.executable, "-m", "planner", *words],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            timeout=300,
        )
        assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("airframe", "workshop"),
    [(README, README), (PAGES["airframe.md"], PAGES["workshop.md"])],
    ids=["README", "docs"],
)
def test_the_files_shown_are_valid(airframe: str, workshop: str) -> None:
    """Both TOML examples pass the readers, those of the README and the long ones."""
    parts, shop = (
        re.findall(r"```toml\n(.*?)```", text, flags=re.DOTALL)[at]
        for text, at in ((airframe, 0), (workshop, -1))
    )
    hints = (MeshHint("wing_mid_L.stl"), MeshHint("nose.stl"))
    text = parts.replace('[options]\nnose = "camera"', "[options]")
    read = read_airframe(parse_toml(text, "airframe.toml"), hints, builtin_recipes(), "EUR", name="x")
    assert read.airframe.parts[0].other_section == "right wing"
    made = read_workshop(parse_toml(shop, "workshop.toml"), builtin_printers(), builtin_filaments())
    assert len(made.printers) == 2


def test_the_pictures_are_there() -> None:
    """Every picture exists and is a PNG, or an SVG that can be parsed."""
    shown = [(ROOT, name) for name in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README)]
    shown += [(ROOT / "docs", name) for name in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", DOCS)]
    assert len(shown) >= 3
    for folder, name in shown:
        data = (folder / name).read_bytes()
        if name.endswith(".svg"):
            assert ElementTree.fromstring(data).tag == "{http://www.w3.org/2000/svg}svg", name
        else:
            assert data.startswith(b"\x89PNG"), name


def test_links_lead_somewhere() -> None:
    """Every relative link of README and docs names a file of the repository."""
    texts = [(ROOT, README), *((ROOT / "docs", text) for text in PAGES.values())]
    for folder, text in texts:
        for link in re.findall(r"\]\((?!https?:)([^)#]+)(?:#[^)]*)?\)", text):
            assert (folder / link).exists(), link


def test_lines_are_short() -> None:
    """Running text stays within 120 characters; rows of tables are one line each."""
    for text in (README, *PAGES.values()):
        long = [row for row in text.splitlines() if len(row) > LONGEST_LINE and not row.startswith("|")]
        assert not long, long


EVERY_TABLE = """
[airframe]
axes = { aft = "x", up = "z" }
section_dates = {}
[wing]
root_chord_mm = 200
tip_chord_mm = 150
span_mm = 1500
[tail]
area_dm2 = 4
arm_mm = 500
span_mm = 400
[recipe.own]
like = "plain"
[defaults]
[finish]
[[stack]]
name = "wing"
[[fitting]]
name = "tube"
mass_g = 3
[[part]]
mesh = "a.stl"
stack = { name = "wing", order = 1 }
option = { nose = "camera" }
"""
EVERY_SHOP_TABLE = """
[dryer]
spools = 2
[[printer]]
name = "desk"
bed = {}
motion = {}
[[filament]]
name = "own"
like = "PLA"
[[spool]]
name = "one"
filament = "own"
grams_left = 1
[[attendance]]
from = "17:00"
until = "18:00"
[[absence]]
from = 2026-12-01
"""


@pytest.fixture(name="asked")
def _asked(monkeypatch: pytest.MonkeyPatch) -> dict[str, set[str]]:
    """Every key that the readers look for, by the page that has to name it."""
    asked: dict[str, set[str]] = {"airframe.md": set(), "workshop.md": set(), "recipes.md": set()}
    plain = Record.has

    def has(self: Record, key: str) -> bool:
        page = "recipes.md" if self.label.startswith("recipe.") else self.file.name
        if page in asked:  # the built-in tables have pages of their own
            asked[page].add(key)
        return plain(self, key)

    monkeypatch.setattr(Record, "has", has)
    read_airframe(
        parse_toml(EVERY_TABLE, "airframe.md"), (MeshHint("a.stl"),), builtin_recipes(), "EUR", name="x"
    )
    read_workshop(parse_toml(EVERY_SHOP_TABLE, "workshop.md"), builtin_printers(), builtin_filaments())
    return asked


def test_every_key_is_in_the_docs(asked: dict[str, set[str]]) -> None:
    """A key that a reader knows stands on the page of its file, as `key`, `[key]` or `[[key]]`."""
    assert min(len(keys) for keys in asked.values()) > 25
    for page, keys in asked.items():
        missing = {key for key in keys if not re.search(rf"`[^`\n]*\b{key}\b[^`\n]*`", PAGES[page])}
        assert not missing, f"{page}: {sorted(missing)}"


def _defaults(kind: type) -> dict[str, Any]:
    return {field.name: field.default for field in dataclasses.fields(kind) if not field.name.startswith("_")}


@pytest.mark.parametrize(
    ("page", "kind", "ends"),
    [
        ("recipes.md", Recipe, None),
        ("workshop.md", Workshop, "## When somebody is there"),
        ("workshop.md", Printer, "A `bed` is a table"),
        ("workshop.md", Bed, "Under `[printer.motion]`"),
        ("workshop.md", Motion, "What is left out is as for"),
        ("workshop.md", Filament, "Built-in filaments:"),
    ],
)
def test_defaults_are_told_as_they_are(page: str, kind: type, ends: str | None) -> None:
    """A number, a word or true and false in the column of defaults is what the value has when left out."""
    text = PAGES[page] if ends is None else PAGES[page].partition(ends)[0].rpartition("| --- |")[2]
    found = 0
    for key, told in re.findall(r"^\| `(\w+)` \| ([^|]+) \|", text, flags=re.MULTILINE):
        if key not in _defaults(kind):
            continue
        default = _defaults(kind)[key]
        if isinstance(default, bool):
            assert told == str(default).lower(), key
        elif isinstance(default, (int, float)):
            assert float(told) == default, key
        elif isinstance(default, str) and default:
            assert told == f'"{default}"', key
        else:
            assert not re.fullmatch(r"[\d.]+|true|false", told), f"{key}: {told}"
            continue
        found += 1
    assert found >= 3


def test_no_key_of_a_table_is_made_up(asked: dict[str, set[str]]) -> None:
    """A row of a table of keys names one that a reader knows."""
    for page, keys in asked.items():
        rows = re.findall(r"^\| (`\w+`(?:, `\w+`)*) \|", PAGES[page], flags=re.MULTILINE)
        told = {key for row in rows for key in re.findall(r"`(\w+)`", row)}
        assert told, page
        assert not told - keys, f"{page}: {sorted(told - keys)}"
