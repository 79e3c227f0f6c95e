"""What was found of shapes: the same shape gives the same answer, so it is found once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Any, Generic, Protocol, TypeVar

from planner.errors import PlannerError

Found = TypeVar("Found")


class Shelf(Protocol):
    """Where answers are kept from one process to the next; a miss is ``None``, never an error."""

    def get(self, name: str, key: Hashable) -> Any:
        """What was put there under the name of the question and its content."""
        ...

    def put(self, name: str, key: Hashable, plain: Any) -> None:
        """Keep it; failing to do so must not disturb the work."""
        ...


@dataclass(frozen=True, slots=True)
class Plain(Generic[Found]):
    """How an answer is written as lists, words and numbers, and read back to the last bit.

    Parameters
    ----------
    name : of the question
    """

    name: str
    written: Callable[[Found], Any]
    read: Callable[[Any], Found]


class Remembered(Generic[Found]):
    """Answers by the content that they follow from; those asked for longest ago are forgotten.

    Answers must be values that nobody changes. Two threads may both find a missing one; one is kept.

    Parameters
    ----------
    most : answers that are kept
    plain : how they are kept on a shelf; without it they end with the process
    """

    def __init__(self, most: int, plain: Plain[Found] | None = None) -> None:
        self._most, self._plain = most, plain
        self._kept: OrderedDict[Hashable, Found] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, key: Hashable, find: Callable[[], Found], shelf: Shelf | None = None) -> Found:
        """The answer for this content, found now where neither this process nor the shelf has it."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        found = self._found(key, find, shelf)
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return found

    def _found(self, key: Hashable, find: Callable[[], Found], shelf: Shelf | None) -> Found:
        plain = self._plain
        if shelf is None or plain is None:
            return find()
        held = shelf.get(plain.name, key)
        if held is not None:
            try:
                return plain.read(held)
            except (ValueError, TypeError, KeyError, IndexError, AttributeError, PlannerError):
                pass  # of another hand: it is found anew, and replaced
        found = find()
        shelf.put(plain.name, key, plain.written(found))
        return found

    def forget(self) -> None:
        """Start anew."""
        with self._lock:
            self._kept.clear()
