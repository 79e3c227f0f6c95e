"""The library of interval models comes without tables, and still takes them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import planner
from planner.solver import NAME, repeatable, without_tables

ASK = """
import sys
from planner.solver import without_tables
without_tables()
from ortools.sat.python import cp_model
model = cp_model.CpModel()
x = model.new_int_var(0, 9, "x")
model.add(x >= 4)
model.minimize(x)
solver = cp_model.CpSolver()
assert solver.solve(model) == cp_model.OPTIMAL and solver.value(x) == 4
assert "pandas" not in sys.modules
import pandas as pd
index = pd.Index(range(3))
many = model.new_int_var_series("y", index, 0, 9)
assert type(many) is pd.Series and cp_model.pd.Series is pd.Series
model.add(sum(many) == 27)
assert solver.solve(model) == cp_model.OPTIMAL and list(solver.values(many)) == [9, 9, 9]
"""


def test_it_is_there() -> None:
    """And a second time, too."""
    without_tables()
    without_tables()
    assert NAME in sys.modules


PROGRAMME = """
import random, signal, threading
from ortools.math_opt.python import mathopt

seen = []
def heard(number, frame):
    seen.append(number)
signal.signal(signal.SIGINT, heard)
draw, model = random.Random(1), mathopt.Model()
chosen = [model.add_binary_variable() for _ in range(100)]
for _ in range(40):
    row = model.add_linear_constraint(ub=2500.0)
    for one in chosen:
        row.set_coefficient(one, float(draw.randrange(1, 100)))
model.maximize(sum(draw.randrange(1, 100) * one for one in chosen))
threading.Timer(0.05, signal.raise_signal, [signal.SIGINT]).start()
effort = mathopt.SolveParameters(threads=1, node_limit=5)
ended = mathopt.solve(model, mathopt.SolverType.GSCIP, params=effort)
assert ended.solve_time().total_seconds() > 0.05, ended
assert seen == [signal.SIGINT], seen
"""


@pytest.mark.slow
def test_no_table_is_imported_until_one_is_asked_for() -> None:
    """It solves before that, and takes series after it."""
    subprocess.run([sys.executable, "-c", ASK], check=True)


def test_every_solver_leaves_the_interrupt_alone() -> None:
    """Else it takes Ctrl-C for itself, and gives it to nobody afterwards."""
    package = Path(planner.__file__).parent
    texts = [path.read_text(encoding="utf-8") for path in package.rglob("*.py")]
    assert sum(text.count("CpSolver()") for text in texts) == 1  # all are made in one place
    assert all(text.count("CpSolver()") == text.count("catch_sigint_signal = False") for text in texts)
    assert not any("pywraplp" in text for text in texts)  # the older door to SCIP, which takes Ctrl-C there


def test_a_mixed_integer_programme_leaves_the_interrupt_alone() -> None:
    """The handler of the signal is asked for while it is being solved."""
    subprocess.run([sys.executable, "-c", PROGRAMME], check=True)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_solver_gives_the_same_answer_on_any_machine(workers: int) -> None:
    """A seed, deterministic time, so many workers as are asked for, and these in turns."""
    told = repeatable(2.5, 7, workers=workers).parameters
    assert (told.random_seed, told.max_deterministic_time, told.num_workers) == (7, 2.5, workers)
    assert told.interleave_search == (workers > 1)
    assert not told.catch_sigint_signal
