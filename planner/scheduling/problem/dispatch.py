"""The first schedule: longest batch first, or what is due first, each to the printer where it ends first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.problem.problem import Ints, Tables

ORDERS, ORDERED_BEDS = 64, 20_000  # random orders of what is due, and beds in all of them together
ORDERS_SEED = 1


@dataclass(frozen=True, slots=True)
class Timing:
    """Of each batch its printer, its first tick of handling and its last tick of printing."""

    printer_of: Ints
    begin: Ints
    end: Ints

    def order(self, printer: int) -> list[int]:
        """The batches of one printer in the order they run."""
        mine = np.flatnonzero(self.printer_of == printer)
        return [int(batch) for batch in mine[np.argsort(self.begin[mine], kind="stable")]]

    @property
    def finish(self) -> int:
        """The tick at which the last run ends."""
        return int(self.end.max()) if len(self.end) else 0


def dispatch(tables: Tables) -> Timing | None:
    """Longest first (Source: Graham 1969, list scheduling by longest processing time).

    Where that leaves no room for a batch, what it needs may be away for good by then: those that must end
    first go first (Source: earliest due date, Jackson 1955, from memory), at last in random orders.

    Returns
    -------
    the timing, or ``None`` when the attendance within the horizon has no room for all batches
    """
    count = tables.duration.shape[0]
    usable = np.where(tables.duration < 0, np.iinfo(np.int32).max, tables.duration)
    shortest = usable.min(axis=1) if count else np.zeros(0, dtype=np.int32)
    first = _in_order(tables, np.lexsort((np.arange(count), -tables.early, -shortest)))
    if first is not None:
        return first
    due = last_ticks(tables)
    never = due >= tables.window_at.shape[0]
    if bool(never.all()):
        return None
    orders = _due_first(due, never, shortest)
    return next((made for order in orders if (made := _in_order(tables, order)) is not None), None)


def _due_first(due: Ints, never: NDArray[np.bool_], shortest: Ints) -> Iterator[NDArray[np.intp]]:
    """What is due sooner first, longest or shortest first; then what is due at all in random orders."""
    random = np.random.default_rng(ORDERS_SEED)
    yield np.lexsort((-shortest, due))
    yield np.lexsort((shortest, due))
    for _ in range(min(ORDERS, ORDERED_BEDS // max(1, len(due)))):
        yield np.lexsort((np.where(never, -shortest, random.permutation(len(due))), never))


def last_ticks(tables: Tables) -> Ints:
    """Of each batch the tick from which its filament, or every printer that prints it, is away for good."""
    ever = tables.window_at.shape[0]
    printers = np.full(tables.release.shape[0], ever, dtype=np.int32)
    materials = np.full(int(tables.material.max(initial=0)) + 1, ever, dtype=np.int32)
    for printer, material, since, until in tables.shut:
        if until >= ever and printer >= 0:
            printers[printer] = min(printers[printer], since)
        elif until >= ever and material < len(materials):
            materials[material] = min(materials[material], since)
    found = [
        min(int(printers[row >= 0].max(initial=0)), int(materials[material]))
        for row, material in zip(tables.duration, tables.material, strict=True)
    ]
    return np.array(found, dtype=np.int32)


def _in_order(tables: Tables, order: NDArray[np.intp]) -> Timing | None:
    from planner.scheduling.problem.decode_kernel import longest_first

    count = tables.duration.shape[0]
    busy = np.zeros(tables.window_at.shape[0] + 1, dtype=np.int32)
    timing = Timing(*(np.zeros(count, dtype=np.int32) for _ in range(3)))
    if not longest_first(tables, order.astype(np.int32), busy, timing.printer_of, timing.begin, timing.end):
        return None
    return timing
