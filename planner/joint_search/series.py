"""Copies of whole airframes: the beds of one copy laid once and repeated, or all pieces laid together."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from planner.errors import Infeasible
from planner.joint_search.beds import Bedding
from planner.joint_search.composition import ComposeTask, Composition, Progress, Steps
from planner.joint_search.search import compose, composed_of
from planner.model.batch import Batch, Unplaced
from planner.model.several import BETWEEN, named_of, own_name

MOST_JOINTLY = 120  # pieces up to which copies are laid together, too, to see whether that ends sooner
SOONER_H = 0.5  # beds that differ are worth no less

Search = Callable[[ComposeTask, Progress | None, Callable[[], bool] | None, Steps | None], Composition]
Copies = Mapping[str, Sequence[str]]  # the names of all copies, by that of the first


def compose_series(
    task: ComposeTask,
    copies: Copies,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    steps: Steps | None = None,
    search: Search | None = None,
) -> Composition:
    """Lay one copy of each airframe, repeat its beds, and schedule all of them; or lay all pieces together.

    The beds are repeated unless pieces of several copies on one bed end the plan half an hour sooner.

    Parameters
    ----------
    copies : the names of all copies of each airframe, as many of each, by that of the first
    search : what looks for beds and runs of pieces, if not `compose`

    Raises
    ------
    Infeasible, InputError
        as for `compose`
    """
    look = search or compose
    first = [piece for piece in task.pieces if piece.airframe in copies]
    one = look(replace(task, pieces=tuple(first)), progress, stop, steps)
    times = _times(copies)
    repeated = _repeated(one, copies, task)
    halted = stop is not None and stop()
    if len(task.pieces) > MOST_JOINTLY or halted:
        why = f"{len(task.pieces)} pieces were not laid together" if not halted else "the search was stopped"
        return replace(repeated, notes=(f"{_told(times)}; {why}",))
    try:
        jointly = look(task, progress, stop, None)
    except Infeasible:
        return replace(repeated, notes=(f"{_told(times)}; no other beds were found",))
    sooner = repeated.schedule.makespan_h - jointly.schedule.makespan_h
    if sooner >= SOONER_H and len(jointly.misfits) <= len(repeated.misfits):
        note = f"copies share beds: repeating the beds of one copy would end {sooner:.1f} h later"
        return replace(jointly, notes=(note,))
    gain = f"{sooner:.1f} h sooner" if sooner > 0.0 else f"{-sooner:.1f} h later"
    return replace(repeated, notes=(f"{_told(times)}; laying all copies together would end {gain}",))


def _told(times: int) -> str:
    return f"the beds of one copy are repeated: each is printed {times} times"


def _repeated(one: Composition, copies: Copies, task: ComposeTask) -> Composition:
    """The beds of the first copies as often as there are copies, all scheduled anew."""
    batches: list[Batch] = []
    origin: dict[str, str] = {}
    misfits: list[Unplaced] = []
    for turn in range(_times(copies)):
        for batch in one.batches:
            placed = tuple(replace(p, piece=_renamed(p.piece, turn, copies)) for p in batch.placed)
            batches.append(replace(batch, name=f"{len(batches) + 1}", placed=placed))
            origin[batches[-1].name] = batch.name
        misfits += [replace(m, piece=_renamed(m.piece, turn, copies)) for m in one.misfits]
    return composed_of(task, Bedding(tuple(batches), tuple(misfits)), origin)


def _times(copies: Copies) -> int:
    """How many copies there are of each."""
    return min(map(len, copies.values()))


def _renamed(piece: str, turn: int, copies: Copies) -> str:
    """The same piece of another copy of the airframe whose name it begins with."""
    first = max((name for name in copies if piece.startswith(name + BETWEEN)), key=len)
    return named_of(copies[first][turn], own_name(first, piece))
