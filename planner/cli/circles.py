"""How often the interpreter looks for circles of values that nobody holds any more."""

from __future__ import annotations

import atexit
import gc
from collections.abc import Iterator
from contextlib import contextmanager

# Values that are made and kept between two looks, and looks at the young between two at the older ones.
# A plan makes half a million values that stay and next to no circles; with the interpreter's own 700 it
# looks through all of them again and again, which is an eighth of a short plan. Large arrays seldom hang
# in circles: the peak of memory was measured to be the same.
VALUES, YOUNG, OLD = 100_000, 50, 100


@contextmanager
def looking_seldom() -> Iterator[None]:
    """For a process that does one thing and ends; whoever imports the package keeps what is set there.

    When the process ends it looks at nothing any more: the system takes its memory back as a whole, and a
    last look through all values of a plan and of the libraries would take a quarter of a second.
    """
    before = gc.get_threshold()
    atexit.unregister(gc.freeze)
    atexit.register(gc.freeze)
    gc.set_threshold(VALUES, YOUNG, OLD)
    try:
        yield
    finally:
        gc.set_threshold(*before)
