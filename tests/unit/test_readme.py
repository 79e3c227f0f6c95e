"""The README tells the truth: its commands run, and it names every command and option."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest
import typer

from planner.cli.main import app
from planner.files.airframe_record import read_airframe
from planner.files.builtin import builtin_filaments, builtin_printers, builtin_recipes
from planner.files.part_record import MeshHint
from planner.files.toml_file import parse_toml
from planner.files.workshop_record import read_workshop

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
EXAMPLES = [line for line in README.splitlines() if line.startswith("planner ")]


def _options() -> list[tuple[str, str]]:
    group = typer.main.get_command(app)
    found = []
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        for parameter in command.params:
            found += [(name, word) for word in parameter.opts if word.startswith("--") and word != "--help"]
    return found


@pytest.mark.parametrize(("command", "option"), _options())
def test_every_command_and_option_is_in_the_readme(command: str, option: str) -> None:
    """Nothing can be asked for that the README does not tell."""
    assert f"`planner {command}" in README
    assert f"`{option}" in README


@pytest.mark.parametrize("line", EXAMPLES)
def test_the_examples_can_be_read(line: str) -> None:
    """Every command of the README is one, with options that it has."""
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
            timeout=120,
        )
        assert done.returncode == 0, done.stderr


def test_the_files_shown_are_valid() -> None:
    """Both TOML examples pass the readers."""
    shown = re.findall(r"```toml\n(.*?)```", README, flags=re.DOTALL)
    assert len(shown) == 2
    hints = (MeshHint("wing_mid_L.stl"), MeshHint("nose.stl"))
    text = shown[0].replace('[options]\nnose = "camera"', "[options]")
    airframe = read_airframe(
        parse_toml(text, "airframe.toml"), hints, builtin_recipes(), "EUR", name="x"
    ).airframe
    assert airframe.parts[0].other_section == "right wing"
    workshop = read_workshop(parse_toml(shown[1], "workshop.toml"), builtin_printers(), builtin_filaments())
    assert len(workshop.printers) == 2


def test_the_picture_is_there() -> None:
    """The README's picture exists and is a PNG."""
    name = re.search(r"!\[[^\]]*\]\(([^)]+)\)", README)
    assert name is not None
    assert (ROOT / name.group(1)).read_bytes().startswith(b"\x89PNG")
