"""What became of beds: what still prints by its mark holds its printer and its spools."""

from __future__ import annotations

from datetime import timedelta

import pytest

from planner.model.replan import EarlierPlan, Marks
from planner.model.schedule import Draw, Run
from planner.pipeline.replan.outcomes import Outcomes, outcomes
from tests.unit.scheduling.workshops import MONDAY, make_batch

HOUR = timedelta(hours=1)
SPANS = {"late": (0.0, 1.0), "next": (1.2, 3.0), "short": (1.2, 1.5)}
LATER = MONDAY + 2 * HOUR


def planned(printer: str, spool: str) -> EarlierPlan:
    """One bed that is to be over by now, then one that runs and one that is over, all on two printers."""
    runs = tuple(
        Run(
            f"run {name}",
            name,
            "one" if name == "late" else printer,
            MONDAY + since * HOUR,
            MONDAY + until * HOUR,
            True,
            (Draw("full" if name == "late" else spool, 10.0),),
            0.0,
        )
        for name, (since, until) in SPANS.items()
    )
    batches = tuple(make_batch(name, 60.0) for name in SPANS)
    return EarlierPlan(
        "plan.json", "1", "kit", MONDAY, MONDAY + 3 * HOUR, {}, {}, batches, runs, (), (), {"full": 500.0}
    )


def fates(became: Outcomes) -> tuple[list[str], ...]:
    return (
        [past.run.batch for past in became.past],
        [run.batch for run in became.running],
        [run.batch for run in became.open],
    )


@pytest.mark.parametrize(("printer", "spool"), [("one", "other"), ("two", "full")])
def test_what_still_prints_holds_its_printer_and_its_spool(printer: str, spool: str) -> None:
    """What was to come after it there has not begun, and that is told."""
    earlier = planned(printer, spool)
    became = outcomes(earlier, Marks(running=("late",), as_planned=True), LATER)
    assert fates(became) == ([], ["late"], ["next", "short"])
    assert any("next" in one.text and "not begun" in one.text for one in became.findings)


def test_another_printer_with_another_spool_goes_on_as_planned() -> None:
    """So does everything where nothing is late."""
    became = outcomes(planned("two", "other"), Marks(running=("late",), as_planned=True), LATER)
    assert fates(became) == (["short"], ["late", "next"], [])
    became = outcomes(planned("two", "full"), Marks(as_planned=True), LATER)
    assert fates(became) == (["late", "short"], ["next"], [])


def test_two_that_run_with_one_spool_are_told() -> None:
    """Somebody took another spool: both marks count, and the scale is asked."""
    became = outcomes(planned("two", "full"), Marks(running=("late", "next"), done=("short",)), LATER)
    assert fates(became) == (["short"], ["late", "next"], [])
    told = next(one for one in became.findings if one.about == "late and next")
    assert "'full'" in told.text
    assert "Weigh the spools" in told.text
    became = outcomes(planned("two", "other"), Marks(running=("late", "next"), done=("short",)), LATER)
    assert not any(one.about == "late and next" for one in became.findings)
