"""Copies: the beds of one repeated, or all laid together; whatever ends sooner by enough."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from planner.joint_search import series
from planner.joint_search.composition import ComposeTask, Composition
from planner.joint_search.pieces import apart_of
from planner.joint_search.series import compose_series
from planner.model.batch import Batch, Placed, Unplaced
from planner.model.part import Part, Piece
from planner.model.recipe import Recipe

COPIES = {"g 1": ("g 1", "g 2"), "g 10": ("g 10", "g 20")}
NAMES = ("g 1", "g 2", "g 10", "g 20")


def bed(*pieces: str) -> Batch:
    placed = tuple(Placed(p, 0.0, 0.0, 0.0, ((0, 0), (1, 0), (1, 1)), 1.0) for p in pieces)
    return Batch("bed 1", "k", "PLA", 0.2, placed, 60.0, 1.0, 1.0, 0.1)


def hours(made: float, *batches: Batch, misfits: tuple[Unplaced, ...] = ()) -> Composition:
    schedule: Any = SimpleNamespace(makespan_h=made)
    return Composition(batches, misfits, schedule, ())


@pytest.fixture(name="asked")
def _asked(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Stand-ins for both searches; what they were asked for."""
    seen: dict[str, Any] = {"jointly": 10.0, "repeated": 10.0}

    def compose(task: ComposeTask, *_: object) -> Composition:
        seen.setdefault("pieces", []).append([piece.name for piece in task.pieces])
        lost = Unplaced("g 10 / rib", "z", 1.0, "")
        if len(task.pieces) == len(NAMES):
            return hours(seen["jointly"], misfits=(lost, lost))
        return hours(1.0, bed("g 1 / rib"), misfits=(lost,))

    def composed_of(task: ComposeTask, bedding: Any, origin: dict[str, str]) -> Composition:
        seen["bedding"], seen["origin"] = bedding, origin
        return hours(seen["repeated"], *bedding.batches, misfits=bedding.misfits)

    monkeypatch.setattr(series, "compose", compose)
    monkeypatch.setattr(series, "composed_of", composed_of)
    return seen


def task(**more: Any) -> ComposeTask:
    pieces = tuple(Piece(f"{n} / rib", f"{n} / rib", mirrored=False, airframe=n) for n in NAMES)
    base: Any = {"parts": {}, "deposits": {}, "workshop": None, "start": None, "rank": {}}
    return ComposeTask(pieces=pieces, **{**base, **more})


def test_the_beds_of_the_first_copies_are_repeated_with_the_names_of_each(asked: dict[str, Any]) -> None:
    made = compose_series(task(), COPIES)
    assert asked["pieces"] == [["g 1 / rib", "g 10 / rib"], [f"{n} / rib" for n in NAMES]]
    assert [[p.piece for p in b.placed] for b in asked["bedding"].batches] == [["g 1 / rib"], ["g 2 / rib"]]
    assert set(asked["origin"].values()) == {"bed 1"}
    assert [m.piece for m in made.misfits] == ["g 10 / rib", "g 20 / rib"]
    assert made.notes[0].startswith("the beds of one copy are repeated: each is printed 2 times")


@pytest.mark.parametrize(
    ("jointly", "words"),
    [
        (9.4, "copies share beds: repeating the beds of one copy would end 0.6 h later"),
        (9.6, "would end 0.4 h sooner"),
        (12.0, "would end 2.0 h later"),
    ],
)
def test_mixing_is_taken_where_it_ends_half_an_hour_sooner(
    asked: dict[str, Any], jointly: float, words: str
) -> None:
    asked["jointly"] = jointly
    made = compose_series(task(), COPIES)
    assert words in made.notes[0]
    assert made.schedule.makespan_h == (jointly if jointly == 9.4 else 10.0)


def test_many_pieces_are_not_laid_together(asked: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(series, "MOST_JOINTLY", 3)
    made = compose_series(task(), COPIES)
    assert len(asked["pieces"]) == 1
    assert made.notes[0].endswith("; 4 pieces were not laid together")
    monkeypatch.setattr(series, "MOST_JOINTLY", 120)
    assert compose_series(task(), COPIES, stop=lambda: True).notes[0].endswith("the search was stopped")


def test_who_may_share_a_bed() -> None:
    shop: Any = SimpleNamespace(mix_sections=True, mix_airframes=True)
    piece = Piece("g 1 / rib", "g 1 / rib", mirrored=False, section="g 1 / wing", airframe="g 1")
    part = Part("g 1 / rib", "rib.stl", "g 1 / wing", Recipe("plain"), "PLA")
    asked = task(parts={part.name: part}, workshop=shop)
    assert apart_of(piece, asked) == ""
    assert apart_of(piece, replace(asked, unmixed=frozenset({"g 1"}))) == "airframe g 1"
    assert apart_of(piece, replace(asked, unmixed=frozenset({"g 2"}))) == ""
    shop.mix_airframes = False
    assert apart_of(piece, asked) == "airframe g 1"
    assert apart_of(replace(piece, airframe=""), asked) == ""
    shop.mix_sections = False
    assert apart_of(piece, asked) == "section g 1 / wing"
