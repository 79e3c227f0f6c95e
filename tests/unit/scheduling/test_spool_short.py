"""A run that goes on and lacks grams: what goes on is at hand by then, and bought only where it may be."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planner.errors import Infeasible
from planner.model.filament import Spool
from planner.model.finding import Finding
from planner.model.replan import EarlierPlan
from planner.model.schedule import RUNNING, Draw, Run, SpoolUse
from planner.model.workshop import Workshop
from planner.pipeline.replan.outcomes import Outcomes
from planner.pipeline.replan.shelf import shelf_now
from planner.scheduling.spools.spool_short import resupplied
from planner.scheduling.spools.spools import refuse_buying
from planner.scheduling.verify import _early_draws
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

TUESDAY = date(2026, 1, 6)
HOUR = timedelta(hours=1)
NEAREST = Spool("nearest", "PLA", 90.0)  # holds least of those that suffice
SECOND = Spool("second", "PLA", 300.0)


def shop(*more: Spool, buy: str = "if needed") -> Workshop:
    workshop = make_workshop(evenings_and_mornings(), spools=(Spool("on it", "PLA", 40.0), *more))
    return replace(workshop, buy=buy)  # type: ignore[arg-type]


def goes_on(workshop: Workshop, *then: Draw) -> tuple[Run, tuple[Finding, ...]]:
    """A bed of 100 g, ten hours from 18:00, whose spool holds 40 g: empty at 22:00 with somebody there."""
    draws = then or (Draw("on it", 100.0),)
    run = Run("run 1", "bed 1", "one", MONDAY, MONDAY + 10 * HOUR, True, draws, 0.0, mark=RUNNING)
    runs, told = resupplied([run], {"bed 1": make_batch("bed 1", 600.0, mass_g=100.0)}, workshop, MONDAY)
    return runs[0], told


@pytest.mark.parametrize(("since", "taken"), [(None, "nearest"), (TUESDAY, "second")])
def test_the_other_spool_is_at_hand_when_it_goes_on(since: date | None, taken: str) -> None:
    """One that comes on the next day does not go on in the evening, however well it would suit."""
    run, _ = goes_on(shop(replace(NEAREST, at_hand_from=since), SECOND))
    assert [draw.spool for draw in run.draws] == ["on it", taken]
    assert sum(draw.grams for draw in run.draws) == pytest.approx(100.0)


def test_a_planned_change_waits_for_no_spool_that_comes_later() -> None:
    """The second spool of a run was put off to the next day: another goes on in its place."""
    second = replace(NEAREST, at_hand_from=TUESDAY)
    run, told = goes_on(shop(second, SECOND), Draw("on it", 30.0), Draw("nearest", 70.0))
    assert [draw.spool for draw in run.draws] == ["on it", "second"]
    assert told
    workshop = shop(second, SECOND)
    planned = replace(run, draws=(Draw("on it", 30.0), Draw("nearest", 70.0)))
    mounted = {run.name: run.start}
    assert list(_early_draws([run], workshop, mounted, MONDAY)) == []
    assert any("nearest" in one for one in _early_draws([planned], workshop, mounted, MONDAY))
    assert list(_early_draws([planned], workshop, mounted, MONDAY + 5 * HOUR)) == []  # it has gone on


def test_nothing_is_bought_where_nothing_may_be() -> None:
    """No other spool is at hand: the run is told to run dry, with the reason, instead of a new spool."""
    later = replace(NEAREST, at_hand_from=TUESDAY)
    run, _ = goes_on(shop(later))
    assert [draw.spool for draw in run.draws] == ["on it", "new PLA 1"]
    run, told = goes_on(shop(later, buy="never"))
    assert [draw.spool for draw in run.draws] == ["on it"]
    assert (run.short_g, run.dry_at) == (60.0, MONDAY + 4 * HOUR)
    assert "no other spool is at hand by then, and nothing is bought" in told[0].text


def test_where_nothing_may_be_bought_the_fullest_spool_goes_on() -> None:
    """It does not suffice, but it brings the run further; then it runs dry, and that is told."""
    run, told = goes_on(shop(Spool("little", "PLA", 15.0), Spool("some", "PLA", 25.0), buy="never"))
    assert [draw.spool for draw in run.draws][:2] == ["on it", "some"]
    given = sum(draw.grams for draw in run.draws)
    assert given + run.short_g == pytest.approx(100.0)
    assert run.dry_at is not None
    assert any("runs dry" in one.text for one in told)


def test_a_spool_that_comes_later_still_does_when_a_plan_goes_on() -> None:
    """The shelf of a plan that goes on keeps the day from which a spool is at hand."""
    use = SpoolUse("nearest", "PLA", False, 90.0, 0.0, 0.0, 90.0, None)
    earlier = EarlierPlan("x", "0" * 64, "x", MONDAY, MONDAY, {}, {}, (), (), (), (use,), {"nearest": 90.0})
    spool = replace(NEAREST, at_hand_from=TUESDAY)
    assert shelf_now([spool], earlier, Outcomes((), (), (), (), ())).spools == (spool,)


@pytest.mark.parametrize(("left", "words"), [(90.0, "the shelf holds as much"), (5.0, "Weigh the spools")])
def test_a_refusal_to_buy_says_whether_the_shelf_holds_as_much(left: float, words: str) -> None:
    """Too few grams are another trouble than grams that are not free when they are wanted."""
    uses = (
        SpoolUse("on it", "PLA", False, left, 0.0, 0.0, left, None),
        SpoolUse("new PLA 1", "PLA", True, 1000.0, 40.0, 1.0, 959.0, None),
    )
    with pytest.raises(Infeasible, match=words):
        refuse_buying(uses, shop(buy="never"))
