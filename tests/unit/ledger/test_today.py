"""The next visit, by the plan and the facts since; and how long a large ledger takes."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.api.today import Today, today, today_text
from planner.errors import RecordError
from planner.ledger.opening import opened
from planner.report.exports.plan_json import plan_json
from planner.report.text.short_cautions import short_cautions
from tests.plan_samples import START, sample_plan

MANY = 100_000
PLAIN_S = 1.9  # of CPU, to read so many facts plainly on a quiet machine
TIMED = """
import json, sqlite3, sys, time
from contextlib import closing
from datetime import datetime
from pathlib import Path
from planner.api.ledger_place import LedgerPlace
from planner.api.today import today
from planner.ledger.store import Ledger
folder = Path(sys.argv[1])
place = LedgerPlace(folder=folder, plan=folder / "out")
began = time.process_time()
with Ledger(place.file) as ledger:
    last = ledger.last()
opened = time.process_time() - began
began = time.process_time()
found = today(place, datetime.fromisoformat(sys.argv[2]))
told = time.process_time() - began
status = Path("/proc/self/status")  # what getrusage tells of a child begins with the memory of its parent
lines = status.read_text().splitlines() if status.exists() else []
peak = sum(float(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024.0
began = time.process_time()
with closing(sqlite3.connect(place.file)) as file:
    facts = [(row, json.loads(row[-1])) for row in file.execute("SELECT * FROM fact ORDER BY rowid")]
plain = time.process_time() - began
print(json.dumps([last, opened, told, peak, plain, len(found.weigh)]))
"""


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> LedgerPlace:
    """A plan, and a folder for its ledger."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    return LedgerPlace(folder=tmp_path, plan=tmp_path / "out", zone="UTC")


def say(place: LedgerPlace, *words: str) -> None:
    """Tell something two hours after the start."""
    record(place, Told(words), START + timedelta(hours=2))


def test_without_a_ledger_it_is_what_the_plan_says(place: LedgerPlace) -> None:
    """The first visit that is not over, whole; none is made by asking."""
    found = today(place, START)
    visit = sample_plan().schedule.visits[0]
    assert (found.visit, found.tasks) == (visit.at, visit.tasks)
    assert (found.running, found.unmarked, found.weigh, found.glue) == ((), (), (), ())
    assert not place.file.exists()


def test_what_is_done_is_told_no_more(place: LedgerPlace) -> None:
    """Beds that were begun are not started again, and are told to run until their end."""
    bed = next(run.batch for run in sample_plan().schedule.runs)
    run = next(run for run in sample_plan().schedule.runs if run.batch == bed)
    starts = [task for task in today(place, START).tasks if f"start {bed} " in task]
    record(place, Told((bed, "began"), at=f"{run.start:%Y-%m-%dT%H:%M}"), run.start + timedelta(minutes=5))
    found = today(place, run.start + timedelta(minutes=5))
    assert [line.split(" until ")[0] for line in found.running] == [f"{bed} on {run.printer}"]
    assert not any(f"start {bed} " in task for task in found.tasks)
    assert len(starts) <= 1
    late = today(place, run.end + timedelta(hours=1))
    assert "(late)" in late.running[0]
    assert any(line.startswith(f"{bed} on") for line in late.unmarked)


def test_what_is_printed_can_be_weighed_and_glued(place: LedgerPlace) -> None:
    """Weighed pieces are told no more, lost ones neither; joints only where both pieces are there."""
    for run in sample_plan().schedule.runs:
        say(place, run.batch, "done")
    found = today(place, START + timedelta(days=30))
    assert len(found.weigh) == len(sample_plan().pieces)
    assert found.glue
    assert found.visit is None
    assert found.unmarked == ()
    say(place, "weighed", "wing mid L", "30", "wing tip L + wing tip R", "20")
    say(place, "lost", "hatch")
    after = today(place, START + timedelta(days=30))
    assert set(found.weigh) - set(after.weigh) == {"wing mid L", "wing tip L", "wing tip R", "hatch"}
    assert not any("hatch" in joint for joint in after.glue)


def test_the_text_fits_eighty_columns(place: LedgerPlace) -> None:
    """And leaves out what there is none of."""
    for run in sample_plan().schedule.runs:
        say(place, run.batch, "done")
    lines = today_text(today(place, START)).splitlines()
    assert max(map(len, lines)) <= 80
    assert any(line.startswith("Weigh ") and "more" not in line for line in lines)
    assert today_text(Today("x", None, 0, (), (), (), (), ())) == "x\nNext visit  none is left in the plan"
    told = replace(Today("x", None, 0, (), (), (), (), ()), cautions=("Hot.", "Fumes: air the room."))
    assert today_text(told).splitlines()[-1] == "Mind        Hot. Fumes: air the room."
    many = Today("x", START, 5, (), (), ("bed 1",), tuple(f"p{n}" for n in range(30)), ())
    assert "and 18 more" in today_text(many)


def test_without_a_plan_it_says_so(tmp_path: Path) -> None:
    """There is nothing to visit."""
    with pytest.raises(RecordError, match="no plan here"):
        today(LedgerPlace(folder=tmp_path, plan=tmp_path / "none"), START)


def test_the_cautions_of_the_plan_are_told_shortly(place: LedgerPlace) -> None:
    """At every visit, whatever else there is to tell."""
    found = today(place, START)
    assert found.cautions == short_cautions(sample_plan().cautions)
    text = " ".join(today_text(found).split())
    assert all(line in text for line in found.cautions)


@pytest.mark.slow
def test_it_is_told_within_a_second() -> None:
    """Neither numpy nor the library of the store is imported: they took more than half of the time."""
    words = (
        "import sys; from planner.api.today import today; from planner.io.results.plan_file import read_plan;"
        "from planner.report.text.short_cautions import short_cautions; import planner.ledger.reading;"
        "import planner.ledger.standing; import planner.cli.today;"
        "print([m for m in ('numpy', 'sqlalchemy', 'pandas') if m in sys.modules])"
    )
    said = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


@pytest.mark.slow
def test_a_hundred_thousand_facts(place: LedgerPlace) -> None:
    """Opens in 0.2 s, tells the next visit in 0.5 s, stays below 150 MB.

    On a busy machine all takes longer: then it may take as much more as reading all facts plainly does.
    """
    opened(place.file, writing=True).dispose()
    airframe = sample_plan().airframe.name
    piece = {"piece": "hull", "part": "hull", "predicted_g": 20.0, "flying_g": 20.0, "filament": "PLA"}
    rows = []
    for n in range(MANY):
        kind = "done" if n % 20 == 0 else "weighed"
        data = {
            "grams": 20.0,
            "resolution_g": 0.1,
            "pieces": [piece] * (6 if kind == "done" else 1),
            "series": "x",
        }
        name = airframe if n % 3 else "another"
        rows.append(
            (f"u{n}", START.isoformat(), name, "terminal", kind, f"piece {n % 900}", json.dumps(data))
        )
    with closing(sqlite3.connect(place.file)) as file, file:
        file.executemany(
            "INSERT INTO fact (uid, at, airframe, who, kind, about, data) VALUES (?,?,?,?,?,?,?)", rows
        )
    told = [
        json.loads(
            subprocess.run(
                [sys.executable, "-c", TIMED, str(place.folder), START.isoformat()],
                capture_output=True, text=True, check=True,
            ).stdout
        )
        for _ in range(3)
    ]  # fmt: skip
    last, opening, telling, peak, plain = (min(one[n] for one in told) for n in range(5))
    assert last == MANY
    busy = max(1.0, plain / PLAIN_S)
    assert opening <= 0.2 * busy
    assert telling <= 0.5 * busy, told
    assert peak <= 150.0, told
