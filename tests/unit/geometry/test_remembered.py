"""Answers kept by their content: found once, forgotten oldest first, safe between threads."""

from __future__ import annotations

import threading
from collections.abc import Hashable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from planner.geometry.remembered import Plain, Remembered


class Asked:
    """Counts how often an answer had to be found."""

    def __init__(self, most: int) -> None:
        self.found: list[str] = []
        self.memory: Remembered[str] = Remembered(most)

    def __call__(self, key: str) -> str:
        def find() -> str:
            self.found.append(key)
            return key.upper()

        return self.memory.of(key, find)


def test_the_same_content_is_found_once() -> None:
    ask = Asked(3)
    assert [ask(key) for key in "abab"] == ["A", "B", "A", "B"]
    assert ask.found == ["a", "b"]


def test_what_was_asked_for_longest_ago_goes_first() -> None:
    """A question keeps its answer young: of a, b and a again, c pushes out b."""
    ask = Asked(2)
    for key in "abac":
        ask(key)
    assert ask.found == ["a", "b", "c"]
    ask("a")
    assert ask.found == ["a", "b", "c"]
    ask("b")
    assert ask.found == ["a", "b", "c", "b"]
    ask("c")
    assert ask.found == ["a", "b", "c", "b", "c"]


def test_answers_of_nothing_are_answers() -> None:
    """None and empty lists are remembered like any other."""
    memory: Remembered[object] = Remembered(2)
    calls: list[int] = []
    for _ in range(2):
        assert memory.of("k", lambda: calls.append(1)) is None  # type: ignore[func-returns-value]
    assert calls == [1]


def test_keys_are_told_apart_by_content() -> None:
    """Tuples of numbers and words, bytes: equal ones are one."""
    memory: Remembered[int] = Remembered(5)
    assert memory.of((1, "a"), lambda: 1) == 1
    assert memory.of((1, "a"), lambda: 2) == 1
    assert memory.of((1, "b"), lambda: 3) == 3
    assert memory.of(b"x", lambda: 4) == 4


def test_forgetting_finds_anew() -> None:
    ask = Asked(5)
    ask("a")
    ask.memory.forget()
    ask("a")
    assert ask.found == ["a", "a"]


def test_a_failure_is_not_remembered() -> None:
    """The next question looks again."""
    memory: Remembered[int] = Remembered(5)

    def fails() -> int:
        raise ValueError("no")

    for _ in range(2):
        try:
            memory.of("k", fails)
        except ValueError:
            continue
        raise AssertionError("it must fail")
    assert memory.of("k", lambda: 7) == 7


def test_a_question_within_a_question_and_threads_do_not_hang() -> None:
    """The lock is not held while an answer is found."""
    memory: Remembered[int] = Remembered(50)
    assert memory.of("outer", lambda: memory.of("inner", lambda: 1) + 1) == 2
    together = threading.Barrier(4, timeout=20.0)

    def slow(key: int) -> int:
        together.wait()
        return key * 10

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(lambda k: memory.of(k, lambda: slow(k)), range(4))) == [0, 10, 20, 30]


class Board:
    """A shelf in memory, as a folder is one on the disk."""

    def __init__(self) -> None:
        self.held: dict[tuple[str, Hashable], Any] = {}

    def get(self, name: str, key: Hashable) -> Any:
        return self.held.get((name, key))

    def put(self, name: str, key: Hashable, plain: Any) -> None:
        self.held[name, key] = plain


def _shelved(shelf: Board) -> tuple[str, list[str]]:
    """What a process that remembers nothing answers, and what it had to find."""
    found: list[str] = []

    def find() -> str:
        found.append("a")
        return "A"

    memory: Remembered[str] = Remembered(3, Plain("letters", lambda one: [one], lambda held: str(held[0])))
    return memory.of("a", find, shelf), found


def test_the_next_process_takes_it_from_the_shelf() -> None:
    shelf = Board()
    assert _shelved(shelf) == ("A", ["a"])
    assert shelf.held == {("letters", "a"): ["A"]}
    assert _shelved(shelf) == ("A", [])


@pytest.mark.parametrize("odd", [[], {}, 7, {"0": "A"}])
def test_what_cannot_be_read_from_the_shelf_is_found_anew(odd: object) -> None:
    """And what was found takes its place."""
    shelf = Board()
    shelf.put("letters", "a", odd)
    assert _shelved(shelf) == ("A", ["a"])
    assert _shelved(shelf) == ("A", [])
