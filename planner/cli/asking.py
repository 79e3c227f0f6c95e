"""Questions of a draft on the terminal: yes, no, a number, or left open."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING

from planner.cli.exits import printable, say
from planner.kit.questions import FARTHEST_MM

if TYPE_CHECKING:
    from planner.kit.questions import Answer, Question

_YES, _NO = ("y", "yes"), ("n", "no")


def answer(question: Question) -> Answer:
    """Ask until the answer can be understood; the end of the input leaves this and all others open."""
    say(printable(fill(question.text, 80)))
    how = "mm, n: not a stack" if question.stack else "y, n"
    while True:
        try:
            said = input(f"  [{how}; empty: leave it open] ").strip().casefold()
        except EOFError:
            say("")
            return None
        if not said:
            return None
        if said in _NO:
            return False
        if not question.stack and said in _YES:
            return True
        if question.stack and (start := _number(said)) is not None:
            return start
        say(f"  Write {'a number such as -205 or n' if question.stack else 'y or n'}.")


def _number(said: str) -> float | None:
    if "_" in said:
        return None
    try:
        found = float(said.replace(",", ".").removesuffix("mm"))
    except ValueError:
        return None
    return found if abs(found) <= FARTHEST_MM else None
