"""Ctrl-C that is not lost, and that costs nothing that was found.

The interpreter drops an interrupt that falls into one of its own callbacks (it prints "Exception
ignored" and goes on). So it is also remembered, and raised again at the next step of the work. Once a
plan has its first answer, the first interrupt only ends the search, and the second one leaves.
"""

from __future__ import annotations

import os
import signal
from contextlib import suppress
from types import FrameType

from planner.model.early import EARLY

KEPT = "\nStopping: the best plan until now is written. Ctrl-C once more leaves without it.\n"

_asked: list[bool] = []  # for each interrupt, whether there was nothing to keep yet
_found: list[bool] = []


def listen() -> None:
    """Remember the interrupt of the terminal from now on."""
    signal.signal(signal.SIGINT, _remember)


def stopped() -> bool:
    """Whether the search is to end with its best."""
    return bool(_asked)


def _remember(number: int, frame: FrameType | None) -> None:
    del number, frame
    _asked.append(not _found)
    if _leaving():
        raise KeyboardInterrupt
    with suppress(OSError):
        os.write(2, KEPT.encode())  # not through the stream: it may be in the midst of a word


def _leaving() -> bool:
    return len(_asked) > 1 or any(_asked)


def step(stage: str, done: int, total: int) -> None:
    """One step of the work: end it if somebody asked for that."""
    del done, total
    if _asked and _leaving():
        raise KeyboardInterrupt
    if stage.startswith(EARLY):
        _found.append(True)
