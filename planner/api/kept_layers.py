"""Layers of a machine file as a record: what a picture of them needs beside the beads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.api.reading_back import ReadBed
    from planner.model.printer import Bed
    from planner.readback.layers import LayerIndex

Ring = list[list[float]]


def layers_record(one: ReadBed, index: LayerIndex, bed: Bed) -> dict[str, Any]:
    """What a picture of the layers needs: the bed, where the plan has its pieces, and the layers.

    Beads are drawn where the machine lays them; outlines of pieces are turned and shifted as the file has
    the bed, so that both can be told apart where they differ. ``bed`` is that of a file like none.
    """
    said, planned = one.said, one.planned
    if planned is not None:
        bed = planned.printer.bed
    middle = said is not None and said.match.middle
    return {
        "unit_mm": index.unit_mm,
        "height_mm": list(index.height_mm),
        "beads": list(index.beads),
        "offset_mm": [bed.width_mm / 2.0, bed.depth_mm / 2.0] if middle else [0.0, 0.0],
        "bed": {
            "shape": bed.shape,
            "width_mm": bed.width_mm,
            "depth_mm": bed.depth_mm,
            "outline_mm": _ring(bed.outline),
            "keep_outs": [_ring(ring) for ring in bed.keep_outs],
        },
        "pieces": _pieces(one, bed),
    }


def _pieces(one: ReadBed, bed: Bed) -> list[dict[str, Any]]:
    from planner.readback.shadows import rings_of

    if one.said is None or one.planned is None:
        return []
    match, missing = one.said.match, set(one.said.lies.missing)
    right, back = match.shift_mm
    rings = rings_of(one.planned.batch, match.way, bed.width_mm, bed.depth_mm)
    moved = {name: [(x + right, y + back) for x, y in ring] for name, ring in rings.items()}
    return [{"name": name, "missing": name in missing, "ring": _ring(ring)} for name, ring in moved.items()]


def _ring(points: Any) -> Ring:
    return [[round(float(x), 2), round(float(y), 2)] for x, y in points]
