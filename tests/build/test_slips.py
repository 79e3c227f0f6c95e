"""A finish that slips is found, and one that is later for the sake of a saved spool is none."""

from __future__ import annotations

from typing import Any

import pytest

from tests.build.slips import slip

OLD = ("grey a", False), ("grey b", False)
NEW = ("new PLA 1", True)


def told(finish: str, *spools: tuple[str, bool], other: str | None = None, bought: bool = False) -> Any:
    """A plan by its finish, its spools (bought or not), and the finish with other spools that it tells."""
    schedule: dict[str, Any] = {"finish": _at(finish)}
    if other is not None:
        schedule["buying"] = {"bought": bought, "other_finish": _at(other)}
    spool_rows = [{"spool": name, "bought": new} for name, new in spools]
    return {"schedule": schedule, "spools": spool_rows, "replan": {"tolerance_h": 4.0}}


def _at(clock: str) -> str:
    return f"2026-12-01T{clock}:00-04:00"


BEFORE = told("18:00", *OLD, NEW)


@pytest.mark.parametrize("finish", ["17:00", "18:00", "18:25"])
def test_one_job_that_is_begun_anew_is_no_slip(finish: str) -> None:
    assert slip(BEFORE, told(finish, *OLD, NEW)) == ""


@pytest.mark.parametrize(
    "after",
    [
        told("18:26", *OLD, NEW),  # with the same spools
        told("18:26", *OLD),  # without the new one, and no word of it
        told("18:26", *OLD, NEW, other="18:00"),  # says that it saves a spool, and saves none
        told("18:26", *OLD, ("new PLA 1", False), other="18:00"),  # it is on the shelf: opened, not saved
        told("18:26", *OLD, ("new PLA 1", False), ("new PLA 2", True), other="18:00"),
        told("18:26", *OLD, other="20:00", bought=True),  # what it tells is the finish without
    ],
)
def test_a_later_finish_that_saves_no_spool_is_a_slip(after: Any) -> None:
    assert slip(BEFORE, after).startswith("nothing went wrong, and the finish slips from 2026-12-01 18:00")


def test_a_spool_may_be_saved_within_the_tolerated_delay() -> None:
    assert slip(BEFORE, told("19:23", *OLD, other="18:00")) == ""
    assert slip(BEFORE, told("22:00", *OLD, other="18:00")) == ""
    assert "by more than 4.0 h" in slip(BEFORE, told("22:02", *OLD, other="18:00"))


def test_the_finish_with_the_saved_spool_must_not_slip() -> None:
    assert slip(BEFORE, told("21:00", *OLD, other="18:25")) == ""
    assert "even with the spools" in slip(BEFORE, told("21:00", *OLD, other="18:26"))


def test_where_none_was_to_be_bought_none_is_saved() -> None:
    before = told("18:00", *OLD)
    assert slip(before, told("19:00", *OLD, other="18:00")).startswith("nothing went wrong")
