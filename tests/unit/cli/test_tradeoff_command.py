"""The commands ``tradeoff`` and ``tables``."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.api import TABLES
from planner.cli.main import app
from tests.small_job import write_small_job

RUN = CliRunner()
WIDTH = 80


def ask(folder: Path, out: Path, *words: str):
    start = [
        "--start",
        "2026-12-01T18:00",
        "--effort",
        "quick",
        "--out",
        str(out),
        "--cache",
        str(out.parent / "c"),
    ]
    return RUN.invoke(app, ["tradeoff", str(folder), *start, *words])


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_small_job(tmp_path_factory.mktemp("kit") / "glider")


def test_a_target_in_reach(kit: Path, tmp_path: Path) -> None:
    """Text of 80 columns at most, a sheet with the front, and a record that says what was promised."""
    result = ask(kit, tmp_path / "out", "--mass-at-most", "107")
    assert result.exit_code == 0, result.output
    assert max(map(len, result.output.splitlines()[:-1])) <= WIDTH
    assert "planned for real" in result.output
    record = json.loads((tmp_path / "out" / "tradeoff.json").read_text(encoding="utf-8"))
    assert record["reached"] is True
    assert record["then"]["mass_g"] <= 107.0
    assert record["promised"]["mass_g"] == pytest.approx(record["then"]["mass_g"], abs=0.01)
    assert record["changes"]
    page = (tmp_path / "out" / "tradeoff.html").read_text(encoding="utf-8")
    assert "<svg" in page
    assert "machine hours" in page
    assert "<script" not in page


def test_a_target_out_of_reach_ends_with_three(kit: Path, tmp_path: Path) -> None:
    """The refusal says what could be reached, and the sheet is written all the same."""
    result = ask(kit, tmp_path / "out", "--mass-at-most", "20", "--json")
    assert result.exit_code == 3
    record = json.loads(result.output)
    assert record["reached"] is False
    assert "taken alone the least are: mass" in record["outcome"]
    assert (tmp_path / "out" / "tradeoff.html").is_file()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--cost-at-most", "12"), "14.50 EUR"),
        (("--cost-at-most", "12 USD"), "the workshop counts in EUR"),
        (("--finish-by", "soon"), "--finish-by"),
        (("--finish-by", "2026-11-01"), "not after the start"),
    ],
)
def test_wrong_wishes(kit: Path, tmp_path: Path, words: tuple[str, ...], told: str) -> None:
    """One message, exit 2, nothing written."""
    result = ask(kit, tmp_path / "out", *words)
    assert result.exit_code == 2
    assert told in result.output + result.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", TABLES)
def test_tables_fit_a_terminal(name: str) -> None:
    """Every built-in table is shown within 80 columns, with sources."""
    result = RUN.invoke(app, ["tables", name])
    assert result.exit_code == 0
    lines = result.output.splitlines()
    assert max(map(len, lines)) <= WIDTH
    assert any(line.startswith("    ") for line in lines)


def test_an_unknown_table() -> None:
    """The message lists those that there are."""
    result = RUN.invoke(app, ["tables", "birds"])
    assert result.exit_code == 2
    assert "filaments, printers" in result.output + result.stderr
