"""What a comparison with a saved bench calls worse: by hand, in both directions, and beyond noise only."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "scripts"))
import bench
from bench_compare import compared, saved_rows


def row(name: str, value: float | None, better: str = "less") -> dict[str, Any]:
    return {"section": "plan", "name": name, "value": value, "better": better}


def verdicts(saved: list[dict[str, Any]], *runs: list[dict[str, Any]]) -> tuple[list[str], bool]:
    lines, holds = compared(saved, runs)
    assert all(len(line) <= 80 for line in lines)
    return [line.split("  ")[-1].strip() for line in lines[1:]], holds


@pytest.mark.parametrize(
    ("now", "said"),
    [(1.0, "as before"), (1.04, "as before"), (1.3, "worse"), (0.7, "better"), (1.6, "FAILS")],
)
def test_of_which_less_is_better(now: float, said: str) -> None:
    """Five percent are noise; half as much again fails."""
    told, holds = verdicts([row("s", 1.0)], *([row("s", now)] for _ in range(3)))
    assert told == [said]
    assert holds is (said != "FAILS")


@pytest.mark.parametrize(("now", "said"), [(60.0, "FAILS"), (80.0, "worse"), (140.0, "better")])
def test_of_which_more_is_better(now: float, said: str) -> None:
    """A speed of 60 against 100 is one and two thirds worse."""
    told, _ = verdicts([row("x", 100.0, "more")], *([row("x", now, "more")] for _ in range(3)))
    assert told == [said]


def test_three_runs_tell_their_noise() -> None:
    """1.0, 1.2 and 1.4 are 1.2 give or take a sixth: not known to be worse than 1.05; their middle counts."""
    runs = [[row("s", value)] for value in (1.4, 1.0, 1.2)]
    assert verdicts([row("s", 1.05)], *runs) == (["as before"], True)
    assert verdicts([row("s", 1.0)], *runs) == (["worse"], True)
    assert compared([row("s", 1.05)], runs)[0][1].split()[-4] == "1.2"


def test_rows_of_one_side_only() -> None:
    """A new row and one that is gone are told and fail nothing; one without a value is none."""
    told, holds = verdicts([row("old", 1.0), row("none", None)], [row("new", 2.0)])
    assert told == ["new", "is gone"]
    assert holds


def test_nothing_at_all_became_something() -> None:
    """From zero on everything is worse; zero as before is as before."""
    assert verdicts([row("s", 0.0)], [row("s", 0.0)]) == (["as before"], True)
    assert verdicts([row("s", 0.0)], [row("s", 0.1)]) == (["FAILS"], False)


@pytest.mark.parametrize("text", ["", "[]", "{}", "[1]", '[{"section": "plan"}]', "no json"])
def test_a_file_of_something_else_is_refused(tmp_path: Path, text: str) -> None:
    """With the way to make one."""
    path = tmp_path / "rows.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit, match="--json"):
        saved_rows(path)


def test_only_the_section_that_is_asked_for_is_compared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its exit code is 1 where a row fails."""
    path = tmp_path / "rows.json"
    path.write_text(json.dumps([row("s", 1.0), {**row("t", 1.0), "section": "kit"}]), encoding="utf-8")
    runs = iter([2.0, 2.0, 2.0, 1.0, 1.0, 1.0])
    monkeypatch.setattr(bench, "rows_of", lambda _: [row("s", next(runs))])
    assert bench.compare(path, ["plan"]) == 1
    assert bench.compare(path, ["plan"]) == 0
    assert "kit" not in capsys.readouterr().out
