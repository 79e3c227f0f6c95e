"""Progress on the terminal: shown only to a person, and only for what takes a while."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from planner.cli.interrupt import step
from planner.model.early import EARLY

_AFTER_S = 1.0

Report = Callable[[str, int, int], None]


@contextmanager
def shown() -> Iterator[Report]:
    """A function that takes stage, done and total; it ends the work after an interrupt, watched or not.

    The first answer of a plan gets a line of its own, which stays.
    """
    if not sys.stderr.isatty():
        yield step
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    bar = Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(bar_width=24),
        TimeElapsedColumn(),
        console=Console(stderr=True),
        transient=True,
    )
    task = bar.add_task("", total=None)
    began = time.monotonic()

    def report(stage: str, done: int, total: int) -> None:
        step(stage, done, total)
        if stage.startswith(EARLY):
            bar.console.print(f"first plan  {stage.removeprefix(EARLY)}", markup=False, highlight=False)
            return
        bar.update(task, description=stage[:48], completed=done, total=total if total > 1 else None)
        if time.monotonic() - began > _AFTER_S and not bar.live.is_started:
            bar.start()

    try:
        yield report
    finally:
        bar.stop()
