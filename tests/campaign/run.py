"""Cases of a kind in processes beside each other; the same cases by the same seed, however many there are.

Each block of cases has a process of its own, which is forked where that can be done: what is loaded once is
there in all of them. A process that dies is told as a fault of the case that it was at.
"""

from __future__ import annotations

import multiprocessing
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess

from tests.campaign.case import Case
from tests.campaign.kinds import Kind

FORKS = sys.platform == "linux"


@dataclass(slots=True)
class _Block:
    """A block in its process: what is still to come of it, and where its cases come from."""

    left: list[int]
    ear: Connection
    process: BaseProcess


def run(kind: Kind, numbers: range, seed: int, jobs: int = 1) -> Iterator[Case]:
    """The cases as they come, in any order; a block begins at a multiple of its length.

    Parameters
    ----------
    numbers : the first of which may lie within a block, whose earlier cases are then run but not told
    jobs : processes beside each other
    """
    if FORKS:
        kind.ready()
    starts = iter(range(numbers.start // kind.block * kind.block, numbers.stop, kind.block))
    busy: list[_Block] = []
    try:
        while True:
            while len(busy) < jobs and (start := next(starts, None)) is not None:
                busy.append(_started(kind, range(start, min(start + kind.block, numbers.stop)), seed))
            if not busy:
                return
            for ear in wait([block.ear for block in busy]):
                block = next(block for block in busy if block.ear is ear)
                case = _heard(block, kind)
                if case is not None and case.number in numbers:
                    yield case
                if not block.left:
                    busy.remove(block)
                    block.process.join()
    finally:
        for block in busy:
            block.process.kill()


def _started(kind: Kind, numbers: range, seed: int) -> _Block:
    ways = multiprocessing.get_context("fork" if FORKS else "spawn")
    ear, mouth = ways.Pipe(duplex=False)
    process = ways.Process(target=_tell, args=(kind, numbers, seed, mouth))
    process.start()
    mouth.close()
    return _Block(list(numbers), ear, process)


def _tell(kind: Kind, numbers: range, seed: int, mouth: Connection) -> None:
    for case in kind.cases(numbers, seed):
        mouth.send(case)


def _heard(block: _Block, kind: Kind) -> Case | None:
    """The next case of a block, or that its process died; nothing is left of it then."""
    try:
        case: Case = block.ear.recv()
    except EOFError:
        block.process.join()
        number, code = block.left[0], block.process.exitcode
        block.left.clear()
        return Case(kind.name, number, "", "lost", f"the process of the case ended with {code}")
    block.left.remove(case.number)
    return case
