"""Cautions in a few words: each of the table, and what the table does not know."""

from __future__ import annotations

import tomllib
from pathlib import Path

import planner.data
from planner.report.text.short_cautions import short_cautions
from tests.plan_samples import sample_plan

TABLE = tomllib.loads((Path(planner.data.__path__[0]) / "cautions.toml").read_text(encoding="utf-8"))


def test_every_line_of_a_plan_is_told_shortly_or_can_wait() -> None:
    """No line is told at length; hot machines, fumes, blades and glue are always there."""
    lines = [one["text"].replace("{names}", "ASA, x (2)") for one in TABLE["caution"]]
    found = short_cautions(lines)
    assert len(found) == sum("short" in one for one in TABLE["caution"])
    assert max(map(len, found)) < 90
    assert "ASA, x (2): 250 °C or more." in found
    always = short_cautions(one["text"] for one in TABLE["caution"] if one["when"] == ["always"])
    for word in ("fire", "Fumes", "cut away", "Glue"):
        assert any(word in line for line in always), word


def test_a_line_of_another_version_is_told_by_its_first_sentence() -> None:
    """Nothing is left out because it is not known; nothing is told twice."""
    assert short_cautions(["Mind the cat. It bites.", "Mind the cat. It bites."]) == ("Mind the cat.",)
    assert short_cautions([]) == ()
    assert all(len(line) < 120 for line in short_cautions(sample_plan().cautions))
