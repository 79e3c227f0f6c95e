"""Joints that are fastened instead of glued."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from planner.model.airframe import Airframe
from planner.model.part import Part


def fastened_by(airframe: Airframe, names: Iterable[str], parts: Mapping[str, Part]) -> str | None:
    """What holds the parts of a joint together where it is not glue; ``None`` where it is glued.

    A fitting that joins all of them, else nothing in particular (an empty text) where one of them is
    detachable: from what lies before it in its stack, or, the first of a stack, from what it touches.
    """
    own = [parts[name] for name in dict.fromkeys(names) if name in parts]
    known = {part.name for part in own}
    for fitting in airframe.fittings:
        if len(known) > 1 and known <= set(fitting.joins) and airframe.chosen(fitting.option):
            return fitting.name if fitting.count == 1 else f"{fitting.count} x {fitting.name}"
    return "" if any(_detaches(airframe, part, own) for part in own) else None


def _detaches(airframe: Airframe, part: Part, own: Iterable[Part]) -> bool:
    if part.stack is None or not part.stack.detachable:
        return False
    row = part.stack.name
    beside = [p.stack.order for p in own if p is not part and p.stack is not None and p.stack.name == row]
    if beside:
        return min(beside) < part.stack.order
    orders = [
        p.stack.order
        for p in airframe.parts
        if p.stack is not None and p.stack.name == row and airframe.chosen(p.option)
    ]
    return part.stack.order <= min(orders, default=part.stack.order)
