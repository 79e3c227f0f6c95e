"""What is said of the weaknesses that a registry knows, or does not."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "scripts"))
import audit  # noqa: E402

SOUND = {"name": "a", "version": "1", "vulns": []}
WEAK = {"name": "b", "version": "2", "vulns": [{"id": "X-1", "fix_versions": ["2.1"]}, {"id": "X-2", "fix_versions": []}]}  # fmt: skip  # noqa: E501
UNKNOWN = {"name": "c", "skip_reason": "not found"}


def answer(*rows: dict[str, Any]) -> str:
    """As the program gives it."""
    return json.dumps({"dependencies": rows, "fixes": []})


def test_a_weakness_is_named_with_what_mends_it() -> None:
    """Exit code 1, one line each; what could not be looked at is counted."""
    code, lines = audit.told(answer(SOUND, WEAK, UNKNOWN))
    assert code == 1
    assert lines == [
        "Known weaknesses of packages: 2; 2 of 3 were looked at.",
        "b 2: X-1, mended in 2.1",
        "b 2: X-2, not mended yet",
    ]
    assert audit.told(answer(SOUND)) == (
        0,
        ["Known weaknesses of packages: none; 1 of 1 were looked at."],
    )


@pytest.mark.parametrize("said", ["", "no JSON", "[]", "{}", answer(UNKNOWN), answer()])
def test_no_answer_is_told_and_held_against_nobody(said: str) -> None:
    """Neither a network that is not there nor a mirror without that knowledge makes a check red."""
    assert audit.told(said) == (0, [audit.NO_DATA])
