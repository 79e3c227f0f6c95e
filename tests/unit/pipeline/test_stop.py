"""A search that is stopped keeps the best until then, and says so."""

import pytest

from planner.pipeline.run import STOPPED, run
from tests.small_sample import sample_job


def test_a_stopped_search_still_gives_a_whole_plan_and_tells_it() -> None:
    """Stop from the first moment on: every piece is planned, and the assumption is told."""
    plan = run(sample_job(), stop=lambda: True)
    assert {placed.piece for batch in plan.batches for placed in batch.placed} == {
        p.name for p in plan.pieces
    }
    assert STOPPED in plan.assumptions


@pytest.mark.slow
def test_a_search_that_is_not_stopped_is_the_same_with_and_without_the_question() -> None:
    """Asking changes nothing."""
    assert run(sample_job(), stop=lambda: False).schedule == run(sample_job()).schedule
