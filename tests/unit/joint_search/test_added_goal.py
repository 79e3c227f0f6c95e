"""A package beside this one adds a goal, as the how-to says, and the search follows it."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import replace
from importlib import resources
from pathlib import Path

import pytest

from planner.errors import InputError
from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.candidate import Candidate, from_joint, start_of
from planner.joint_search.instance import instance_of
from planner.joint_search.joint import timed_start
from planner.joint_search.objective import _NAME, Objective, Sums, TimedPlan, Tolerance
from planner.joint_search.objectives import (
    BUILT_IN,
    SPOOLS,
    objectives,
    order_of,
    place_of,
    told,
)
from planner.joint_search.oracle import Oracle
from planner.joint_search.search import compose
from planner.plug_ins import GOALS
from planner.scheduling.verify import verify_schedule
from tests.added_package import Install
from tests.unit.joint_search.tasks import make_task

DOCS = Path(__file__).parents[3] / "docs"
HOW_TO = (DOCS / "howto_goal.md").read_text(encoding="utf-8")
PRICES = """
from planner.joint_search.objective import Objective, Sums, Tolerance
def visit(moment): return moment.hour + 0.25 * moment.minute
def start(moment): return 1.0 if moment.hour < 12 else 0.5
def end(moment): return 2.0 if moment.weekday() > 4 else 0.125
def bed(filament, printer): return 3.0 * filament.foaming + (printer.name == "desk 1")
ALL = Objective("all-of-it", "points", Tolerance(0.1, 1.0), Sums(visit, start, end, bed), lambda *_: "")
"""


def test_the_how_to_adds_a_goal_and_the_search_follows_it(install: Install) -> None:
    """Its place in the order decides the plan: put first, nobody comes late; all else is sound."""
    program = re.findall(r"```python\n# quiet_evenings.py\n(.*?)```", HOW_TO, flags=re.DOTALL)[0]
    named = tomllib.loads(re.findall(r"```toml\n(.*?)```", HOW_TO, flags=re.DOTALL)[0])
    assert len(program.splitlines()) <= 30
    value = named["project"]["entry-points"][GOALS]["late"]
    install(GOALS, "quiet_evenings", program, f"mine = {value}")
    task = make_task(seed=3, parts=5, printers=2)
    usual, quiet = compose(task), compose(replace(task, prefer=("late", "finish")))
    assert [goal.name for goal in usual.goals] == [*(one.name for one in BUILT_IN), "late"]
    assert [goal.name for goal in quiet.goals][:3] == ["late", "finish", "sections"]
    assert (quiet.goals[0].value, usual.goals[-1].value) == (0.0, 1.0)
    for made, goal in ((usual, usual.goals[-1]), (quiet, quiet.goals[0])):
        late = sum(visit.at.hour >= 20 or visit.at.hour < 6 for visit in made.schedule.visits)
        assert goal.value == late
        assert goal.told == f"{late} visits from 20 to 6 o'clock"
        assert verify_schedule(made.schedule, made.spools, made.batches, task.workshop, task.start) == ()
    assert quiet.schedule.runs != usual.schedule.runs


def test_search_and_measure_count_the_same(install: Install) -> None:
    """Every goal that is built in, and all parts of one that is added, on whatever beds the search gives."""
    install(GOALS, "all_parts", PRICES, "mine = all_parts:ALL")
    for seed in (1, 2):
        task = make_task(seed, parts=6, printers=2, kinds=("desk", "tall"))
        made = compose(task, stop=lambda: True)
        maker = BedMaker(task)
        instance = instance_of(maker, 28)
        start = start_of(Candidate(Bedding(made.batches, ()), made.schedule, ()), instance)
        solution = timed_start(instance.table, instance.goal_data, start)
        oracle = Oracle(instance.items, task.workshop.clearance_mm, task.effort, task.seed)
        for batch in made.batches:
            oracle.know(batch.printer_kind, batch.placed)
        plan = from_joint(solution, instance, oracle, maker, Bedding((), ()))
        assert plan is not None
        counted, exact = solution.values, plan.values
        assert len(counted) == len(exact) == len(BUILT_IN) + 1
        assert exact[-1] > 0.0
        rounded = {place_of("risk"): 0.02}  # of whole minutes
        for goal in set(range(len(exact))) - {SPOOLS}:  # the search counts filaments on printers
            near = pytest.approx(exact[goal], rel=rounded.get(goal, 1e-9))
            assert counted[goal] == near, objectives()[goal].name


@pytest.mark.parametrize(
    ("module", "text", "why"),
    [
        ("goal_one", "ALL = 3", "is no Objective"),
        ("goal_two", "import no_such_thing", "cannot be loaded .ModuleNotFoundError"),
        ("goal_three", PRICES.replace("all-of-it", "finish"), "name of another goal, 'finish'"),
        ("goal_four", PRICES.replace("all-of-it", "all, of it"), "is no name of a goal"),
        ("goal_five", PRICES.replace("Sums(visit, start, end, bed)", "lambda plan: 1.0"), "is no Objective"),
        ("goal_six", PRICES.replace("Tolerance(0.1, 1.0)", "Tolerance(-0.1)"), "a tolerance of -0.1"),
        ("goal_seven", PRICES.replace('"points"', '"points on a scale"'), "unit is longer than 8"),
    ],
)
def test_a_wrong_goal_is_refused_with_its_package(module: str, text: str, why: str, install: Install) -> None:
    """No traceback, and a name to look for, before anything is searched."""
    install(GOALS, module, text, f"mine = {module}:ALL")
    with pytest.raises(InputError, match=f"{module}:ALL: .*{why}"):
        order_of(())


@pytest.mark.parametrize(
    ("module", "part", "why"),
    [
        ("price_one", "return moment.hour - 24.0", "visit of a goal gave"),
        ("price_two", "return float('nan')", "visit of a goal gave nan"),
        ("price_three", "raise KeyError(moment.hour)", "could not be asked .KeyError"),
    ],
)
def test_a_price_that_is_none_is_refused(module: str, part: str, why: str, install: Install) -> None:
    """Rather than searched for in silence."""
    text = PRICES.replace("return moment.hour + 0.25 * moment.minute", part)
    install(GOALS, module, text, f"mine = {module}:ALL")
    with pytest.raises(InputError, match=why):
        compose(make_task(1, parts=2, printers=1))


def test_words_that_fail_leave_the_number() -> None:
    """A plan is not lost for the sake of a sentence."""

    def wrong(plan: TimedPlan, value: float) -> str:
        raise KeyError("x")

    goal = Objective("x", "", Tolerance(), Sums(), wrong)
    task = make_task(1, parts=2, printers=1)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("planner.joint_search.objectives.objectives", lambda: (goal,))
        plan = TimedPlan(task, {}, compose_nothing())
        assert told((0,), (2.5,), plan)[0].told.startswith("2.5, which its package could not tell")


def compose_nothing():  # type: ignore[no-untyped-def]
    from tests.plan_samples import sample_plan

    return sample_plan().schedule


def test_page_and_schema_name_every_goal() -> None:
    """In the usual order, with the tolerance of each."""
    page = (DOCS / "goals.md").read_text("utf-8")
    rows = re.findall(r"^\| `(\w+)` \|.*\| (.+) \|$", page, flags=re.MULTILINE)
    shares = [f"{100 * one.tolerance.share:g} %" if one.tolerance.share else "nothing" for one in BUILT_IN]
    assert rows == list(zip([one.name for one in BUILT_IN], shares, strict=True))
    text = resources.files("planner.report").joinpath("plan.schema.json").read_text("utf-8")
    pattern = json.loads(text)["$defs"]["goal"]["properties"]["goal"]["pattern"]
    assert all(re.fullmatch(pattern, one.name) for one in BUILT_IN)
    assert pattern == f"^{_NAME.pattern}$"  # what may be added may be told
    assert [place_of(one.name) for one in BUILT_IN] == list(range(len(BUILT_IN)))


def test_the_refusal_of_a_word_names_added_goals(install: Install) -> None:
    """The list is asked, not a copy of it."""
    install(GOALS, "named_goal", PRICES, "mine = named_goal:ALL")
    assert order_of(("All-of-it",))[0] == len(BUILT_IN)
    with pytest.raises(InputError, match="spools, all-of-it"):
        order_of(("speed",))
