"""First figures: what they go on from, and what they never pass for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.web.routes.firsts import Firsts
from planner.web.state import read_state


class AtHand:
    """A process at hand: hours and money as the record says them."""

    def __init__(self) -> None:
        self.meanwhile: Callable[[], None] = lambda: None
        self.alone = True

    def call(
        self, work: str, folder: str, settings: dict[str, Any], cache: str | None
    ) -> dict[str, Any] | None:
        assert work == "at_once"
        hours = float((Path(folder) / "airframe.toml").read_text(encoding="utf-8").strip("# \n"))
        self.meanwhile()
        if not self.alone:
            return None
        exact = {"printed_g": 10.0 * hours, "total_g": 11.0 * hours, "station_mm": None, "currency": "EUR"}
        return {**exact, "alone_h": hours, "alone_minor": round(100 * hours)}


class Reckoned:
    """Measures of whole plans by revision."""

    def __init__(self) -> None:
        self.by: dict[str, dict[str, Any]] = {}

    def known(self, folder: Path, revision: str) -> dict[str, Any] | None:
        return self.by.get(revision)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "kit"
    made.mkdir()
    return made


def chosen(folder: Path, hours: float) -> str:
    """Choices that take so many hours; their revision."""
    (folder / "airframe.toml").write_text(f"# {hours}\n", encoding="utf-8")
    return read_state(folder).revision


def desk() -> tuple[Firsts, AtHand, Reckoned]:
    bench, looks = AtHand(), Reckoned()
    return Firsts(bench, looks, None), bench, looks  # type: ignore[arg-type]


def test_a_change_goes_on_from_what_was_reckoned_and_then_from_what_was_told(folder: Path) -> None:
    """12 h reckoned where the pieces alone are 10 h: 11 h alone are 13 h, and 10.5 h after that 12.5 h."""
    firsts, _, looks = desk()
    one = chosen(folder, 10.0)
    looks.by[one] = {
        "printed_g": 100.0, "total_g": 110.0, "station_mm": None, "print_h": 12.0,
        "cost_minor": 1500, "cost": "15.00 EUR", "currency": "EUR", "beds": 3,
    }  # fmt: skip
    firsts.tell(folder, "")
    two = chosen(folder, 11.0)
    told = firsts.tell(folder, one)
    assert told["revision"] == two
    now = told["now"]
    assert (now["print_h"], now["cost_minor"], now["cost"]) == (13.0, 1600, "16.00 EUR")
    assert told["now"]["printed_g"] == 110.0
    assert told["before"]["print_h"] == 12.0
    assert "beds" not in told["before"]
    chosen(folder, 10.5)
    told = firsts.tell(folder, two)
    assert (told["before"]["print_h"], told["now"]["print_h"]) == (13.0, 12.5)


def test_without_anything_before_the_pieces_alone_are_told(folder: Path) -> None:
    """And nothing beside them."""
    firsts, _, _ = desk()
    chosen(folder, 4.0)
    told = firsts.tell(folder, "unknown")
    assert (told["now"]["print_h"], told["before"]) == (4.0, None)


def test_another_currency_does_not_go_on_from_the_money_of_before(folder: Path) -> None:
    """Sums of two currencies are none."""
    firsts, _, looks = desk()
    one = chosen(folder, 10.0)
    looks.by[one] = {
        "printed_g": 100.0, "total_g": 110.0, "station_mm": None, "print_h": 12.0,
        "cost_minor": 1500, "cost": "1500 JPY", "currency": "JPY",
    }  # fmt: skip
    firsts.tell(folder, "")
    chosen(folder, 11.0)
    assert firsts.tell(folder, one)["now"]["cost_minor"] == 1100


def test_a_choice_made_meanwhile_does_not_pass_for_the_one_before(folder: Path) -> None:
    """It is asked again until the choices rest; where they never do, nothing is told."""
    firsts, bench, _ = desk()
    chosen(folder, 1.0)
    turns = iter((2.0, 3.0))
    bench.meanwhile = lambda: (found := next(turns, None)) is not None and chosen(folder, found) and None
    told = firsts.tell(folder, "")
    assert told["revision"] == read_state(folder).revision
    assert told["now"]["print_h"] == 3.0
    count = iter(range(10, 100))
    bench.meanwhile = lambda: chosen(folder, float(next(count))) and None
    assert firsts.tell(folder, "")["now"] is None


def test_a_plan_that_goes_on_is_left_to_the_reckoning(folder: Path) -> None:
    """Only a plan knows what is printed already."""
    firsts, bench, _ = desk()
    bench.alone = False
    chosen(folder, 1.0)
    assert firsts.tell(folder, "")["now"] is None
