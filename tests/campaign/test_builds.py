"""A short run of lived builds with random events, and that the campaign tells what is wrong."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

from tests.build import life
from tests.campaign import builds

SEED = 1


@pytest.mark.slow
def test_lived_builds() -> None:
    """Three builds to their last bed, every step verified; no two live the same."""
    cases = [builds.case(number, SEED) for number in range(3)]
    assert [case for case in cases if case.fault] == []
    assert {case.reached for case in cases} == {"last bed"}
    assert len({case.what for case in cases}) == len(cases)


class Lives:
    """A builder whose beds are used up one by one, by a plan that is no plan."""

    def __init__(self, folder: Path, kit: object, shop: object) -> None:
        del folder, kit, shop
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
