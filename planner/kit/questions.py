"""What a raw kit leaves open, one question after the other; answers make it sure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner.kit.proposal import Proposal
from planner.kit.put_together import DOUBT
from planner.kit.stacks import RawKit, StackRow

FARTHEST_MM = 1e5
_MOST_NAMED = 4


@dataclass(frozen=True, slots=True)
class Question:
    """One question: its words, what it is about, and whether a number is asked for instead of a yes.

    Parameters
    ----------
    text : a sentence to be shown
    about : the proposals that a yes makes sure
    stack : name of the stack whose start is asked for; empty where it is a question of yes or no
    """

    text: str
    about: tuple[Proposal, ...]
    stack: str = ""


Answer = bool | float | None
"""Yes or no, a start in mm, or None: left open."""


def questions_of(kit: RawKit) -> tuple[Question, ...]:
    """The open questions: one for parts that are asked the same, one for the start of each stack."""
    same: dict[tuple[str, object, str], list[Proposal]] = {}
    for one in kit.proposals:
        if not one.sure and one.key == "option":
            same.setdefault((one.key, _name(one), ""), []).append(one)
        elif not one.sure and one.key == "seat":
            same.setdefault((one.key, "", ""), []).append(one)
        elif not one.sure and one.key != "stack":
            same.setdefault((one.key, one.value, one.reason), []).append(one)
    found = [Question(_asked(own, kit.notes), tuple(own)) for own in same.values()]
    for row in kit.stacks:
        if not row.sure:
            own = tuple(one for one in kit.proposals if one.key == "stack" and _name(one) == row.name)
            found.append(Question(_start_asked(row, own), own, row.name))
    return tuple(found)


def answered(kit: RawKit, ask: Callable[[Question], Answer]) -> RawKit:
    """The kit with every question asked: a yes makes proposals sure, a no takes them out, None leaves them.

    Of a stack the number is its start, and a no takes the stack out.
    """
    changed: dict[Proposal, Proposal | None] = {}
    starts: dict[str, float] = {}
    gone: set[str] = set()
    for question in questions_of(kit):
        answer = ask(question)
        if answer is None:
            continue
        refused = answer is False
        changed |= {one: None if refused else replace(one, confidence=1.0) for one in question.about}
        if question.stack and refused:
            gone.add(question.stack)
        elif question.stack:
            starts[question.stack] = float(answer)
    kept = (changed.get(one, one) for one in kit.proposals)
    rows = tuple(
        replace(row, start_mm=starts[row.name], confidence=1.0) if row.name in starts else row
        for row in kit.stacks
        if row.name not in gone
    )
    return replace(kit, proposals=tuple(one for one in kept if one is not None), stacks=rows)


def _name(one: Proposal) -> str:
    """Of the option, or of the stack."""
    return str(one.value[0]) if isinstance(one.value, tuple) else ""


def _doubts(notes: Sequence[str]) -> list[str]:
    """What is open about how an airframe was put together."""
    told = [one.removeprefix(DOUBT) for one in notes if one.startswith(DOUBT)]
    return told or ["what fits is told by shape alone"]


def _asked(own: Sequence[Proposal], notes: Sequence[str]) -> str:
    first = own[0]
    names = ", ".join(one.mesh for one in own[:_MOST_NAMED])
    more = f" and {len(own) - _MOST_NAMED} more" if len(own) > _MOST_NAMED else ""
    if first.key == "option" and isinstance(first.value, tuple):
        return f"Are {names}{more} choices of one thing, of which one is built? ({first.reason})"
    if first.key == "seat":
        return f"Put {names}{more} together as their ends and seats fit? ({'; '.join(_doubts(notes))})"
    if first.key == "copies":
        return f"Leave out {names}{more}? ({first.reason})"
    return f"{first.key} = {first.value} for {names}{more}? ({first.reason})"


def _start_asked(row: StackRow, own: Sequence[Proposal]) -> str:
    names = ", ".join(one.mesh for one in own)
    return f"Where does {names} begin, in mm aft of the datum, one fitting on the other? ({row.reason})"
