"""How hard to search: every search has a budget, and a longer search has more of it."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from pathlib import Path

import pytest

import planner
from planner.errors import InputError, RecordError
from planner.model.effort import EFFORTS, NORMAL, QUICK, THOROUGH, Effort, effort_named, longer

ROOM = Path(planner.__file__).parent
BUDGETS = [one.name for one in fields(Effort)[2:]]


@pytest.mark.parametrize("budget", BUDGETS)
def test_budgets_grow_from_quick_to_thorough(budget: str) -> None:
    """Each is given for every effort; none shrinks, and each grows at least once."""
    row = [getattr(effort, budget) for effort in EFFORTS]
    assert row == sorted(row)
    assert row[0] < row[-1]
    assert row[1] > 0


def test_more_effort_starts_from_more_plans() -> None:
    """The first of the caps is none; the others fall."""
    for effort in EFFORTS:
        assert effort.bed_caps_minutes[0] == float("inf")
        assert list(effort.bed_caps_minutes) == sorted(set(effort.bed_caps_minutes), reverse=True)
    counts = [len(effort.bed_caps_minutes) for effort in EFFORTS]
    assert counts == sorted(set(counts))


def test_every_budget_is_spent_somewhere() -> None:
    """A field that no search reads would be a promise."""
    code = "".join(
        path.read_text(encoding="utf-8") for path in sorted(ROOM.rglob("*.py")) if path.name != "effort.py"
    )
    for one in fields(Effort):
        assert re.search(rf"\b\w*effort\.{one.name}\b", code) or one.name == "name", one.name


def test_no_other_place_lists_efforts() -> None:
    """Whoever needs the names asks the list; an example may say one."""
    names = "|".join(effort.name for effort in EFFORTS)
    for path in sorted(ROOM.rglob("*.py")):
        if path.name != "effort.py":
            found = re.findall(rf"""["'](?:{names})["']\s*:""", path.read_text(encoding="utf-8"))
            assert not found, path


def test_an_effort_is_known_by_its_name() -> None:
    """And a word that is none is refused with all that are."""
    assert [effort_named(effort.name) for effort in EFFORTS] == list(EFFORTS)
    with pytest.raises(RecordError, match="'hard' is not one of: quick, normal, thorough"):
        effort_named("hard")


def test_a_longer_search_follows_until_the_last() -> None:
    """A budget of one's own has none behind it."""
    assert [longer(effort) for effort in EFFORTS] == [NORMAL, THOROUGH, None]
    assert longer(replace(QUICK, shelf_steps=7)) is None


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"shelf_steps": -1}, "shelf_steps = -1"),
        ({"bed_share": float("nan")}, "bed_share = nan"),
        ({"bed_caps_minutes": ()}, "caps on bed hours"),
        ({"bed_caps_minutes": (0.0,)}, "caps on bed hours"),
    ],
)
def test_a_budget_that_is_none_is_refused(changed: dict[str, object], words: str) -> None:
    """Checked when it is made."""
    with pytest.raises(InputError, match=words):
        replace(QUICK, **changed)  # type: ignore[arg-type]
