"""The check knows what shares, orders and grams of simulated worlds must keep, whatever was drawn."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from planner.model.plan import Plan
from planner.model.risk import FinishShare, Risk, RiskAsked
from planner.pipeline.risk import with_risk
from planner.pipeline.verify_risk import risk_faults
from tests.plan_samples import sample_plan

SOUND = with_risk(sample_plan(), RiskAsked(200, 0.1))
FINISH = SOUND.schedule.finish
Change = Callable[[Risk], Risk]


def broken(change: Change) -> list[str]:
    """What is said of the sound plan with its risk otherwise."""
    assert SOUND.risk is not None
    return list(risk_faults(replace(SOUND, risk=change(SOUND.risk))))


def _with(rows: tuple[Any, ...], row: int, new: dict[str, Any]) -> tuple[Any, ...]:
    at = row % len(rows)
    return (*rows[:at], replace(rows[at], **new), *rows[at + 1 :])


def finish(row: int, /, **new: Any) -> Change:
    """One row of the finish otherwise."""
    return lambda risk: replace(risk, finish=_with(risk.finish, row, new))


def bed(row: int, /, **new: Any) -> Change:
    """One bed otherwise."""
    return lambda risk: replace(risk, beds=_with(risk.beds, row, new))


def grams(**new: Any) -> Change:
    """The first filament otherwise."""
    return lambda risk: replace(risk, filaments=(replace(risk.filaments[0], **new), *risk.filaments[1:]))


def all_at(delta: timedelta, kept: float) -> Change:
    """Every world ends so much after the plan."""
    return lambda risk: replace(
        risk, kept=kept, finish=tuple(FinishShare(one.share, FINISH + delta) for one in risk.finish)
    )


CASES: tuple[tuple[Change, str], ...] = (
    (
        lambda risk: replace(risk, finish=risk.finish[::2]),
        "the shares of worlds do not rise from above 0 to below 1 with half and nine tenths among them",
    ),
    (finish(-1, at=FINISH - timedelta(minutes=1)), "95% of worlds end before 90% of them do"),
    (
        all_at(timedelta(days=-30), 1.0),
        "50% of worlds are told to end before the last bed is to begin",
    ),
    (
        lambda risk: replace(risk, unfinished=0.7),
        "70.0% of worlds never end, which does not go with 35% of them",
    ),
    (all_at(timedelta(hours=1), 0.2), "20.0% of worlds are told to keep the finish, 10% end after it"),
    (all_at(timedelta(minutes=-1), 0.2), "20.0% of worlds are told to keep the finish, 90% end before it"),
    (
        lambda risk: replace(risk, unfinished=0.01, kept=1.0),
        "shares of worlds that keep the finish, and that never end, do not add up",
    ),
    (
        lambda risk: replace(risk, beds=risk.beds[:-1]),
        "the beds that the finish may hang on are not those that run",
    ),
    (
        lambda risk: replace(risk, beds=risk.beds[::-1]),
        "the bed that decides the finish in most worlds does not come first",
    ),
    (
        lambda risk: replace(risk, beds=tuple(replace(one, decides=0.1, sooner_h=0.0) for one in risk.beds)),
        "the finish of some worlds hangs on no bed",
    ),
    (bed(0, fails=1.2), "bed 1 decides or fails in a share of worlds that is none"),
    (bed(-1, decides=0.0, sooner_h=1.0), "bed 4 decides no finish, and is told to make it later"),
    (
        lambda risk: replace(risk, filaments=risk.filaments[1:]),
        "the filaments that may be needed are not those of the beds",
    ),
    (grams(planned_g=1.0), "PLA: 1.0 g are told as planned, the runs take others"),
    (grams(half_g=1e6), "PLA: grams as planned, in half and in nine tenths of worlds do not rise"),
)


@pytest.mark.parametrize(
    ("change", "sentence"), CASES, ids=[re.sub(r"\W+", " ", words) for _, words in CASES]
)
def test_what_cannot_be_is_said(change: Change, sentence: str) -> None:
    """Each sentence for its own lie; names of beds and filaments are those of the sample."""
    said = broken(change)
    words = re.sub(r"^(bed \d+|[\w ]*PLA)(?=\b)", "", sentence)
    assert any(words in one for one in said), said


def test_a_sound_plan_has_no_fault_and_one_without_worlds_neither() -> None:
    """Nothing is said of what is not told."""
    assert list(risk_faults(SOUND)) == []
    idle = replace(SOUND, schedule=replace(SOUND.schedule, runs=()))
    assert list(risk_faults(idle)) == ["worlds are told of a plan in which nothing runs"]
    plain: Plan = sample_plan()
    assert list(risk_faults(plain)) == []
