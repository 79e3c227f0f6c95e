"""Names as people write them."""

from __future__ import annotations

import pytest

from planner.errors import RecordError
from planner.ledger.names import nearest

BEDS = ["bed 1", "bed 2", "bed 12", "bed 21"]
PIECES = ["wing mid L", "wing mid R", "wing tip L", "servo_cover", "Nose (plain)", "hull wing bay"]


@pytest.mark.parametrize(
    ("written", "known", "meant"),
    [
        ("bed 1", BEDS, "bed 1"),
        ("Bed 1", BEDS, "bed 1"),
        ("2", BEDS, "bed 2"),
        ("12", BEDS, "bed 12"),
        ("bde 12", BEDS, "bed 12"),
        ("WING MID l", PIECES, "wing mid L"),
        ("wing-tip", PIECES, "wing tip L"),
        ("servo cover", PIECES, "servo_cover"),
        ("nose plain", PIECES, "Nose (plain)"),
        ("hul wing bay", PIECES, "hull wing bay"),
        ("wing tipp L", PIECES, "wing tip L"),
    ],
)
def test_the_name_that_is_meant(written: str, known: list[str], meant: str) -> None:
    """Other letters, a number alone, a beginning alone, one slip of the finger."""
    assert nearest(written, known, "bed") == meant


@pytest.mark.parametrize(
    ("written", "known", "words"),
    [
        ("wing mid", PIECES, "more than one piece"),
        ("wing mid X", PIECES, "no piece"),
        ("bed 3", BEDS, "no piece 'bed 3'"),
        ("bed 22", BEDS, "no piece"),
        ("cockpit", PIECES, "no piece 'cockpit'"),
        ("", PIECES, "no piece"),
        ("bed 1", [], "none at all"),
    ],
)
def test_what_is_not_clear_is_refused(written: str, known: list[str], words: str) -> None:
    """Left is never taken for right, nor bed 22 for bed 21."""
    with pytest.raises(RecordError, match=words):
        nearest(written, known, "piece")


def test_a_refusal_names_the_likeliest_first() -> None:
    """And no more than fit a line or two."""
    with pytest.raises(RecordError) as refused:
        nearest("rib 99", [f"rib {n}" for n in range(40)], "piece")
    assert "rib 9, " in str(refused.value)
    assert "..." in str(refused.value)
    assert len(str(refused.value)) < 160
