"""Kills at every step of writing: a short run of them, and that what is wrong afterwards is seen."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from planner.io.results import output
from planner.ledger.store import Ledger
from tests.campaign import kills
from tests.campaign.kills import Whole, seen
from tests.campaign.scenes import SCENES, Place
from tests.campaign.standing import standing
from tests.campaign.warm import FORKS, ROOT, Done, warm

pytestmark = pytest.mark.skipif(not FORKS, reason="processes are forked and killed")


def campaign(kind: str, *words: str) -> dict[str, Any]:
    """What a run of the script tells."""
    told = subprocess.run(
        [sys.executable, "scripts/campaign.py", kind, "--json", *words],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    found: dict[str, Any] = json.loads(told.stdout)
    return found


@pytest.mark.slow
@pytest.mark.parametrize(("first", "cases"), [("50", "10"), ("150", "25"), ("350", "25")])
def test_some_kills(first: str, cases: str) -> None:
    """A plan by two renames, facts, drafts: nothing is lost, and what came back is told."""
    told = campaign("kills", "--first", first, "--cases", cases)
    assert told["failed"] == []
    assert told["cases"] == int(cases)
    assert told["reached"]["killed"] >= int(cases) / 3


@pytest.fixture(name="whole")
def _whole(tmp_path: Path) -> Whole:
    """A scene that was never played: results before and after, one file of the kit."""
    place = Place(tmp_path / "now")
    for path in ("home/out/plan.json", "kit/airframe.toml", "kit/a.stl", "home/cache/x.npz"):
        (place.root / path).parent.mkdir(parents=True, exist_ok=True)
        (place.root / path).write_text("old", encoding="utf-8")
    before = standing(place.root)
    (place.root / "home/out/plan.json").write_text("new", encoding="utf-8")
    after = standing(place.root)
    return Whole(SCENES[1], place, tmp_path / "before", before, after, (), 100, Done(0, "", ""))


def test_old_or_new_and_nothing_else(whole: Whole) -> None:
    """Both are sound; half of one, none, or another file that changed are not."""
    killed = Done(-9, "", "")
    root = whole.place.root
    assert seen(whole, killed) == ""
    for text, fault in (("old", ""), ("ne", "neither the old nor the new"), ("new", "")):
        (root / "home/out/plan.json").write_text(text, encoding="utf-8")
        assert fault in seen(whole, killed)
        assert bool(fault) == bool(seen(whole, killed))
    (root / "kit/airframe.toml").write_text("a =", encoding="utf-8")
    assert "airframe.toml is neither" in seen(whole, killed)
    (root / "kit/airframe.toml").unlink()
    assert "airframe.toml is gone" in seen(whole, killed)
    (root / "home/out/plan.json").unlink()
    assert "neither the old nor the new" in seen(whole, killed)


def test_a_refusal_leaves_nothing(whole: Whole) -> None:
    """A traceback, and a file beside; kept estimates are no fault."""
    (whole.place.root / "home/cache/y.npz").write_text("", encoding="utf-8")
    assert seen(whole, Done(2, "", "the disk is full"), "full") == ""
    assert "Traceback" in seen(whole, Done(1, "", "Traceback (most recent call last)"), "full")
    (whole.place.root / "home/half").write_text("", encoding="utf-8")
    assert "left beside" in seen(whole, Done(2, "", "the disk is full"), "full")


def test_facts_that_were_confirmed(whole: Whole) -> None:
    """A ledger that lost them, and one that is damaged."""
    path = whole.place.kit / "ledger.sqlite"
    Ledger(path, writing=True).close()
    assert seen(whole, Done(-9, "", "")) == ""
    path.write_bytes(path.read_bytes()[:5000] + b"\xff" * 20_000)
    assert "damaged" in seen(whole, Done(-9, "", ""))


@pytest.fixture(name="warmed", scope="module")
def _warmed() -> None:
    warm()


@pytest.mark.slow
@pytest.mark.usefixtures("warmed")
@pytest.mark.parametrize("broken", ["swap", "silent", "confirmed"])
def test_planted_faults_are_seen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, broken: str) -> None:
    """Results that are away for a moment, a repair that is not told, a fact that is only said."""

    def swapped(fresh: Path, out: Path) -> None:
        import shutil

        shutil.rmtree(out, ignore_errors=True)
        fresh.rename(out)

    if broken == "swap":
        monkeypatch.setattr(output, "_swap", swapped)
    elif broken == "silent":
        monkeypatch.setattr("planner.api.left.clear_left", lambda out: False)
        monkeypatch.setattr(kills, "BACK", "nobody says this")
    else:
        monkeypatch.setattr(Ledger, "write", lambda self, facts: tuple(facts))
    scene = SCENES[{"swap": 1, "silent": 2, "confirmed": 7}[broken]]
    rng, job = np.random.default_rng(1), (1,)
    if broken == "confirmed":
        with pytest.raises(AssertionError, match="confirmed"):
            kills.played(scene, tmp_path, job)
        return
    whole = kills.played(scene, tmp_path, job)
    steps = [n for n, step in enumerate(whole.steps, start=1) if step.startswith("os.rename")]
    faults = [kills.killed(whole, 8 * n, step, rng).fault for n, step in enumerate(steps[-4:])]
    assert any(("neither" if broken == "swap" else "nobody is told") in fault for fault in faults)
