"""Parts of one section brought onto as few beds as can be, where that takes no bed more."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from planner.model.batch import Placed
from planner.nesting.feasibility.feasible import fits
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem

Beds = list[tuple[BedKind, list[Placed]]]

QUESTION_STEPS = 4000  # placements judged for one question: a piece that needs more costs something
MOST_QUESTIONS = 40


def gathered(problem: NestingProblem, beds: Beds, *, questions: int = MOST_QUESTIONS) -> Beds:
    """As many beds of the same kinds, on which sections are spread over fewer or as few.

    A piece goes to, or changes places with one on, a bed that holds its section already; both beds are
    asked whether they take it. Every answer was checked when it was found.
    """
    items = {item.piece: item for item in problem.items}
    beds = [(kind, list(placed)) for kind, placed in beds]
    asked = 0
    moved = True
    while moved and asked < questions and not problem.stop(problem.budget):
        moved = False
        for first, second, gone, come in _exchanges(items, beds):
            if asked >= questions or problem.stop(problem.budget):
                break
            asked += 1
            made = []
            for b, out, into in ((first, gone, come), (second, come, gone)):
                names = [p.piece for p in beds[b][1] if p.piece not in out] + list(into)
                mine, kind = [items[n] for n in names], beds[b][0]
                laid = fits(replace(problem, items=mine, containers=[kind], steps=QUESTION_STEPS))
                if laid is None:
                    break
                made.append((b, list(laid)))
            if len(made) == 2:
                for b, laid_ in made:
                    beds[b] = (beds[b][0], laid_)
                moved = True
                break
    return [bed for bed in beds if bed[1]]


def spread(items: Mapping[str, Item], beds: Beds) -> int:
    """Over how many beds the sections are spread, summed over all sections."""
    return sum(len({items[p.piece].group for p in placed}) for _, placed in beds)


def _exchanges(
    items: Mapping[str, Item], beds: Beds
) -> Iterator[tuple[int, int, tuple[str, ...], tuple[str, ...]]]:
    """Exchanges that make the spread smaller: (bed, other bed, pieces that go, pieces that come).

    A section with one piece only on a bed leaves it for a bed that holds more of it; first for nothing,
    then against a piece whose section the first bed holds, too.
    """
    held = [Counter(items[p.piece].group for p in placed) for _, placed in beds]
    lonely = [
        (b, p.piece, items[p.piece].group)
        for b, (_, placed) in enumerate(beds)
        for p in placed
        if held[b][items[p.piece].group] == 1
    ]
    for b, piece, group in lonely:
        for other, count in enumerate(held):
            if other != b and count[group] and len(beds[b][1]) > 1:
                yield b, other, (piece,), ()
    for b, piece, group in lonely:
        for other, count in enumerate(held):
            if other == b or not count[group]:
                continue
            own = [(p.piece, items[p.piece].group) for p in beds[other][1]]
            back = [name for name, section in own if section != group and held[b][section]]
            for come in _like_first(items, back, piece)[:2]:
                yield b, other, (piece,), (come,)


def _like_first(items: Mapping[str, Item], pieces: Sequence[str], like: str) -> list[str]:
    """Pieces of nearly the size of another first."""
    size = _box(items[like])
    return sorted(pieces, key=lambda p: (abs(_box(items[p]) - size), p))


def _box(item: Item) -> float:
    return max(x for x, _ in item.outline) * max(y for _, y in item.outline)
