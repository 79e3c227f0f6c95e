"""Parts that begin and end alike and differ between: of them one is built."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.kit.ends import PartEnds

_TIP = 0.7  # of the area of its joint: a nose tapers to less


def parallels(parts: PartEnds, leave: frozenset[str]) -> tuple[tuple[str, ...], ...]:
    """Lengths of hull with both ends of the same two shapes, each the only one of its kind, by name.

    Source: geometry; ends are edges between shapes of outlines, and two edges beside each other are choices.
    Where both ends of a part are of one shape, such parts may follow one another, and are none.
    """
    kinds = [kin.number for name, kin in parts.kin.items() if name not in leave]
    groups: dict[tuple[int, ...], list[str]] = {}
    for name, own in parts.ends.items():
        shapes = tuple(sorted(end.shape for end in own))
        single = kinds.count(parts.kin[name].number) == 1
        if name not in leave and parts.figures[name].kind == "body" and single and len(set(shapes)) == 2:
            groups.setdefault(shapes, []).append(name)
    return tuple(tuple(sorted(names)) for names in groups.values() if len(names) > 1)


def left_over(
    parts: PartEnds, names: Sequence[str], shared: Mapping[int, int], leave: frozenset[str]
) -> bool:
    """Whether two closed lengths, the only parts that have an end of one shape, are choices.

    Beside another hull, whose lengths fit one another, they would make a second one: two noses fit like that.
    Common practice, no source.
    """
    if len(names) != 2 or len({parts.kin[name].number for name in names}) != len(names):
        return False
    if any(parts.figures[name].kind != "body" for name in names):
        return False
    ends = [
        (end.face.outline.area, shared.get(end.shape, 0) > 1) for name in names for end in parts.ends[name]
    ]
    if sum(fits for _, fits in ends) > len(names):
        return False
    joint = min(area for area, fits in ends if fits)
    if any(area > _TIP * joint for area, fits in ends if not fits):
        return False
    hulls = [
        name
        for name, figure in parts.figures.items()
        if figure.kind == "body" and name not in leave and name not in names
    ]
    return any(shared.get(end.shape, 0) > 1 for name in hulls for end in parts.ends[name])
