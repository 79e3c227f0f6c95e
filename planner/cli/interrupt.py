"""Ctrl-C that is not lost.

The interpreter drops an interrupt that falls into one of its own callbacks (it prints "Exception
ignored" and goes on). So it is also remembered, and raised again at the next step of the work.
"""

from __future__ import annotations

import signal
from types import FrameType

_asked: list[bool] = []


def listen() -> None:
    """Remember the interrupt of the terminal from now on."""
    signal.signal(signal.SIGINT, _remember)


def _remember(number: int, frame: FrameType | None) -> None:
    del number, frame
    _asked.append(True)
    raise KeyboardInterrupt


def step(stage: str, done: int, total: int) -> None:
    """One step of the work: end it if somebody asked for that."""
    del stage, done, total
    if _asked:
        raise KeyboardInterrupt
