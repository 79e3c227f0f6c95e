"""A short run of lived builds with random events, and that the campaign tells what is wrong."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

from planner.errors import RecordError
from planner.model import effort
from planner.report import bundle
from tests.build import agree, laws, life
from tests.build.builder import plan_alone
from tests.build.truth import Said, Truth
from tests.campaign import builds, events
from tests.campaign.test_kills import campaign
from tests.campaign.warm import FORKS
from tests.kits.kit import random_kit
from tests.plan_samples import sample_plan


@pytest.mark.slow
@pytest.mark.skipif(not FORKS, reason="cases run in processes that are forked")
def test_lived_builds() -> None:
    """Four builds to their last bed, every step verified."""
    told = campaign("builds", "--cases", "4")
    assert told["failed"] == []
    assert told["reached"] == {"last bed": 4}


class Lives:
    """A builder whose beds are used up one by one, by a plan that is no plan."""

    def __init__(self, folder: Path, kit: object, shop: object, reads: object) -> None:
        del folder, kit, shop, reads
        self.faults: list[str] = []
        self.made: list[int] = []
        self.plan: dict[str, Any] = {"runs": [0] * 30}

    def begin(self, start: str) -> None:
        """A first plan."""
        assert start
        self.made.append(0)


def step(builder: Lives, rng: np.random.Generator) -> None:
    """A bed less."""
    assert rng is not None
    builder.made.append(0)
    builder.plan["runs"].pop()


def test_what_is_wrong_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Faults of steps, and an end that is none; the same again by the same seed."""

    def bad(builder: Lives, rng: np.random.Generator) -> None:
        step(builder, rng)
        builder.faults.append("a piece is missing")

    def falls(builder: Lives, runs: int) -> None:
        raise AssertionError(f"no end after {runs}: {len(builder.plan['runs'])} beds")

    monkeypatch.setattr(builds, "Builder", Lives)
    monkeypatch.setattr(life, "to_the_end", lambda *_: None)
    monkeypatch.setattr(builds, "on", step)
    monkeypatch.setattr(builds, "OFTEN", {"step": step})
    monkeypatch.setattr(builds, "ONCE", {"loss": step})
    sound = builds.case(0, 1)
    assert (sound.fault, sound.reached) == ("", "last bed")
    assert sound.what.split(": ")[1].split().count("loss") <= 1
    assert sound.what.split(": ")[1].count("step") >= builds.MOST_EVENTS - 1
    assert builds.case(0, 1).what == sound.what
    monkeypatch.setattr(builds, "OFTEN", {"step": bad})
    seen = builds.case(0, 1)
    assert seen.fault.startswith("a piece is missing; a piece is missing; a piece is missing (and ")
    monkeypatch.setattr(builds, "OFTEN", {"step": step})
    monkeypatch.setattr(life, "to_the_end", falls)
    ended = builds.case(0, 1)
    assert ended.reached == "ended early"
    assert "AssertionError: no end after 4" in ended.fault


def test_every_event_is_one_of_the_list() -> None:
    """What may befall: eleven kinds of events at least, those that befall once apart."""
    assert len(builds.OFTEN | builds.ONCE) >= 11
    assert not set(builds.OFTEN) & set(builds.ONCE)


class Tells:
    """A builder of one bed that is over, who is asked what became of it."""

    def __init__(self, answer: str) -> None:
        self.answer = answer
        self.faults: list[str] = []
        self.told: list[tuple[str, ...]] = []
        self.folder = Path("kit")
        self.truth = Truth(pieces={"rib 1": 3.0, "clip": 0.2, "old": 9.0})
        run = {"batch": "bed 1", "start": "2026-12-01T18:00+00:00", "end": "2026-12-01T19:00+00:00"}
        pieces = [{"piece": name} for name in ("rib 1", "clip")]
        self.plan = {"start": "2026-12-01T17:00+00:00", "runs": [{**run, "mark": None}], "pieces": pieces}

    def record(self, *words: str, at: datetime) -> None:
        """A fact."""
        self.told.append((*words, f"{at:%H:%M}"))

    def puts_on_scale(self, piece: str, grams: float, at: datetime) -> None:
        """A weighing."""
        self.told.append((piece, f"{grams:.0f}", f"{at:%H:%M}"))

    def tells(self, *words: str) -> str:
        """What is there to do."""
        assert words[0] == "today"
        return self.answer

    def go_on(self, step: str, said: Said) -> None:
        """A plan."""
        self.told.append((step, f"{said.now:%H:%M}"))


def test_facts_are_told_and_asked_for() -> None:
    """A bed that is told to be done and asked for all the same is a fault; light pieces are not weighed."""
    sound, asks = Tells("Next visit  none"), Tells("Say  what became of bed 1 on desk, planned until 19:00?")
    for builder in (sound, asks):
        events.by_facts(builder, np.random.default_rng(1))
        assert builder.told == [("bed 1", "done", "19:00"), ("facts are told", "19:04")]
    assert sound.faults == []
    assert "asks for a bed" in asks.faults[0]
    sound.told.clear()
    events.on_scale(sound, np.random.default_rng(1))
    assert sound.told == [("rib 1", "3", "17:04"), ("pieces are weighed", "17:04")]


def test_a_kit_of_few_files_is_one_still() -> None:
    """Both noses, and two to four other rows in their order."""
    kit = random_kit(5, 12)
    small = builds.fewer(kit, np.random.default_rng(2))
    assert [row.option for row in small.rows[:2]] == ["plain", "camera"]
    assert 4 <= len(small.rows) <= 6
    assert [row for row in kit.rows if row in small.rows] == list(small.rows)


def test_what_was_weighed_weighs_that() -> None:
    """To the hundredth; other pieces may have learned from it, and weigh about what they did."""
    items = [{"kind": "printed", "what": name, "mass_g": mass} for name, mass in (("a", 2.0), ("b", 3.06))]
    truth = Truth(pieces={"a": 2.0, "b": 3.0})
    assert len(list(laws._weights({"mass": {"items": items}}, truth))) == 1
    truth.learned = True
    assert list(laws._weights({"mass": {"items": items}}, truth)) == []
    truth.on_scale.add("b")
    assert "b weighs 3.06 g" in next(laws._weights({"mass": {"items": items}}, truth))


def test_halves_are_rounded_either_way() -> None:
    """62.55 may have been a little more or less before it was told in thousandths."""
    assert {f"{one:.1f}" for one in agree._thousandths(62.55)} == {"62.5", "62.6"}
    assert {f"{one:.1f}" for one in agree._thousandths(62.52)} == {"62.5"}


def test_a_hasty_build_searches_less_and_ends_as_it_began() -> None:
    """Quick plans search a tenth for a while, by the same name; after it, or after a fault, as ever."""
    before = effort.effort_named("quick")
    with builds.searched(hasty=True):
        hasty = effort.effort_named("quick")
        assert hasty.name == "quick"
        assert hasty.first_goal_steps * 10 == before.first_goal_steps
        assert effort.effort_named("normal") is effort.NORMAL
    with pytest.raises(RecordError), builds.searched(hasty=True):
        effort.effort_named("none")
    with builds.searched(hasty=False):
        assert effort.effort_named("quick") is before
    assert effort.effort_named("quick") is before


def test_a_step_that_is_not_read_makes_the_plan_alone() -> None:
    """And the next one all documents again."""
    plan, every = sample_plan(), bundle.each_document
    with plan_alone():
        name, body = next(iter(bundle.each_document(plan)))
        assert [one for one, _ in bundle.each_document(plan)] == [name] == ["plan.json"]
    assert bundle.each_document is every
    assert dict(every(plan))["plan.json"] == body
