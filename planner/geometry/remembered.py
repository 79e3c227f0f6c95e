"""What was found of shapes in this process: the same shape gives the same answer, so it is found once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Found = TypeVar("Found")


class Remembered(Generic[Found]):
    """Answers by the content that they follow from; those asked for longest ago are forgotten.

    Answers must be values that nobody changes. Two threads may both find a missing one; one is kept.

    Parameters
    ----------
    most : answers that are kept
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, Found] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, key: Hashable, find: Callable[[], Found]) -> Found:
        """The answer for this content, found now where it is not remembered."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        found = find()
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return found

    def forget(self) -> None:
        """Start anew."""
        with self._lock:
            self._kept.clear()
