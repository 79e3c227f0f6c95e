"""What judges the builds finds what is wrong: each number is falsified once where it stands."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.build.agree import disagreements
from tests.build.builder import Builder
from tests.build.laws import broken_laws
from tests.build.sheets import Results

Falsify = Callable[[Path], None]


def swapped(file: str, old: str, new: str) -> Falsify:
    """The first match of a pattern in a text file is replaced."""

    def change(folder: Path) -> None:
        text = (folder / file).read_bytes().decode()
        made = re.sub(old, new, text, count=1)
        assert made != text, f"{old} is not in {file}"
        (folder / file).write_bytes(made.encode())

    return change


def told(change: Callable[[dict[str, Any]], None]) -> Falsify:
    """Something else stands in ``plan.json``."""

    def falsify(folder: Path) -> None:
        plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
        change(plan)
        (folder / "plan.json").write_text(json.dumps(plan), encoding="utf-8")

    return falsify


def exchanged(folder: Path) -> None:
    """Two bed files have changed places."""
    one, other = sorted((folder / "beds").glob("*.3mf"))[:2]
    kept = one.read_bytes()
    one.write_bytes(other.read_bytes())
    other.write_bytes(kept)


def in_the_workbook(sheet: str, label: str, column: int) -> Falsify:
    """Another number stands in the row of a label."""

    def change(folder: Path) -> None:
        book = openpyxl.load_workbook(folder / "cost_sheet.xlsx", data_only=True)
        row = next(row for row in book[sheet].iter_rows() if label in [cell.value for cell in row])
        row[column].value = 991
        book.save(folder / "cost_sheet.xlsx")

    return change


PAPERS: dict[str, Falsify] = {
    "finish: schedule": told(lambda p: p["schedule"].update(finish="2027-01-01T00:00:00+00:00")),
    "finish: report": swapped("report.html", r"(Finished</h2>.*?short\">\w+ )2026", r"\g<1>2025"),
    "finish: calendar": swapped("schedule.ics", r"(bed is printed\r\nDTSTART:)2026", r"\g<1>2025"),
    "visits:": swapped("schedule.ics", r"DTSTART:2026", "DTSTART:2025"),
    "beds: the sheet": swapped("report.html", r"(<h2[^>]*>\s*)bed 2\b", r"\g<1>bed 99"),
    "files: beds/": exchanged,
    "files: drawings": lambda folder: next(iter(sorted((folder / "bed_plans").iterdir()))).unlink(),
    "grams: report": swapped("report.html", r"(Weighs</h2>.*?short\">)\d", r"\g<1>99"),
    "grams: parts.csv": swapped("parts.csv", r"(\r\n(?:[^,]*,){12})\d", r"\g<1>99"),
    "spools: spools.csv": swapped("spools.csv", r",no,\d", ",no,9"),
    "spools: workbook": in_the_workbook("Shopping", "PETG, spool of 750 g", 2),
    "cost: cost_sheet": swapped("cost_sheet.csv", r"(total,total,,,,)", r"\g<1>9"),
    "cost: workbook": in_the_workbook("Cost", "Total", 5),
    "cost: report": swapped("report.html", r"(Costs</h2>.*?printed, )\d", r"\g<1>99"),
    "pieces: parts.csv": swapped("parts.csv", r",(left|none),1,", r",\1,7,"),
    "shape: plan.json": told(lambda p: p.pop("currency")),
}


def test_a_short_build(short_build: Builder) -> None:
    """A kit of sixteen files with a failure and another nose: every document agrees at every step."""
    assert short_build.faults == []
    assert len(short_build.made) >= 5
    assert disagreements(short_build.made[0]) == []
    assert broken_laws(short_build.made[1], *short_build.judged[1]) == []


@pytest.mark.parametrize("begins", sorted(PAPERS))
def test_papers_that_differ_are_found(short_build: Builder, tmp_path: Path, begins: str) -> None:
    """One number is changed in one document of the first plan."""
    first = short_build.made[0]
    folder = tmp_path / "out"
    shutil.copytree(first.folder, folder)
    PAPERS[begins](folder)
    assert any(fault.startswith(begins) for fault in disagreements(Results(folder, first.terminal)))


@pytest.mark.parametrize(
    ("begins", "old", "new"),
    [
        ("finish: terminal", r"Finished\s+\w+ 2026", "Finished    Tue 2025"),
        ("beds: terminal", r"\d+ beds", "77 beds"),
        ("grams: terminal", r"Weighs      \d", "Weighs      99"),
        ("spools: terminal", r"Buy         \d", "Buy         9"),
        ("cost: terminal", r"printed, \d", "printed, 99"),
        ("pieces: the title", r"\d+ pieces", "77 pieces"),
        ("terminal: 1", r"\n", "x" * 81 + r"\n"),
    ],
)
def test_a_terminal_that_differs_is_found(short_build: Builder, begins: str, old: str, new: str) -> None:
    """One number is changed on the terminal."""
    first = short_build.made[0]
    text = re.sub(old, new, first.terminal, count=1)
    assert text != first.terminal
    assert any(fault.startswith(begins) for fault in disagreements(Results(first.folder, text)))


def _twice(plan: dict[str, Any]) -> None:
    plan["batches"][-1]["placed"].append(plan["past"][0]["batch"]["placed"][0])


def _lost(plan: dict[str, Any]) -> None:
    plan["batches"][-1]["placed"].pop()


LAWS: dict[str, Callable[[dict[str, Any]], None]] = {
    " is there and printed on ": _twice,
    " is not there and printed on no bed": _lost,
    "missing": lambda p: p["pieces"].pop(),
    " and was printed with ": lambda p: [item.update(mass_g=999.0) for item in p["mass"]["items"]],
    " is told to hold ": lambda p: p["spools"][0].update(grams_before=7.0),
    " g do not leave ": lambda p: p["spools"][0].update(grams_left=7.0),
    " draws other grams ": lambda p: p["batches"][0].update(mass_g=999.0),
    " but other minutes": lambda p: [batch.update(minutes=1.0) for batch in p["batches"]],
    " but at another time": lambda p: [run.update(start="2026-12-09T00:00:00+00:00") for run in p["runs"]],
    "over are ": lambda p: p["past"].pop(),
    " are over and planned": lambda p: p["runs"][0].update(batch=p["past"][0]["batch"]["batch"]),
    " is not in the hours ": lambda p: p["schedule"]["visits"][0].update(minutes=900),
    " print on ": lambda p: [run.update(end="2027-12-09T00:00:00+00:00") for run in p["runs"]],
}


@pytest.mark.parametrize("holds", sorted(LAWS))
def test_broken_laws_are_found(short_build: Builder, tmp_path: Path, holds: str) -> None:
    """One thing is changed in the second plan, which goes on from the first."""
    second, judged = short_build.made[1], short_build.judged[1]
    folder = tmp_path / "out"
    shutil.copytree(second.folder, folder)
    told(LAWS[holds])(folder)
    assert any(holds in fault for fault in broken_laws(Results(folder, second.terminal), *judged))
