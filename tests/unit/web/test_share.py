"""How much is done and how long the rest takes: never falling, never a guess."""

from __future__ import annotations

import pytest

from planner.web.share import PLAN, RECKONING, Share, left_s


def test_the_share_grows_over_the_stages_and_never_falls() -> None:
    """Half of the second stage after all of the first; a stage told again changes nothing."""
    share = Share({"one": 1.0, "two": 2.0, "three": 1.0})
    assert share.told("one", 1, 2) == pytest.approx(0.125)
    assert share.told("two: 12.5 h", 1, 2) == pytest.approx(0.5)
    assert share.told("one", 1, 1) == pytest.approx(0.5)
    assert share.told("unheard of", 9, 9) == pytest.approx(0.5)
    assert share.told("three", 0, 1) == pytest.approx(0.75)
    assert share.told("three", 5, 4) == 1.0


def test_the_time_left_follows_the_share_and_is_not_guessed_at_first() -> None:
    """A quarter in 10 s leaves 30 s; a moment after the start nothing is said."""
    assert left_s(0.25, 10.0) == pytest.approx(30.0)
    assert left_s(1.0, 10.0) == 0.0
    assert left_s(0.01, 10.0) is None
    assert left_s(0.5, 0.3) is None


@pytest.mark.slow
def test_every_stage_of_a_plan_is_weighed() -> None:
    """The stages that the search tells are the ones that count, for every effort."""
    from datetime import datetime
    from pathlib import Path

    from planner import api
    from planner.web.settings import DEFAULTS, request_for

    told: list[str] = []
    folder = Path(__file__).parents[3] / "demo_meshes"
    request = request_for(folder, {**DEFAULTS, "effort": "quick"}, None)
    shares = Share(RECKONING)
    seen = [0.0]

    def report(stage: str, done: int, total: int) -> None:
        told.append(stage.partition(":")[0])
        seen.append(shares.told(stage, done, total))

    api.reckon(request, datetime.now().astimezone(), report)
    assert set(told) == set(RECKONING)
    assert seen == sorted(seen)
    assert seen[-1] > 0.95
    assert len(set(seen)) > 10
    for weights in PLAN.values():
        assert set(RECKONING) | {"report"} == set(weights)
