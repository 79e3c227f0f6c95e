"""Machine files held against their beds, every figure as JSON."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from planner.api.read_back_rows import box_of, purge_m

if TYPE_CHECKING:
    from planner.api.reading_back import ReadBack, ReadBed


def read_back_json(found: ReadBack) -> str:
    """The same as JSON: one object a file."""
    rows = [row_of(one) for one in found.beds]
    whole = {
        "files": rows,
        "faults": list(found.faults),
        "not_read": list(found.unread),
        "clean": found.clean,
    }
    return json.dumps(whole, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def row_of(one: ReadBed) -> dict[str, Any]:
    """One file as an object."""
    if one.said is None or one.planned is None:
        return {"file": one.path.name, "lines": one.lines, "bed": None}
    said, batch, figures = one.said, one.planned.batch, one.said.figures
    lies = said.lies
    return {
        "file": one.path.name,
        "lines": one.lines,
        "bed": batch.name,
        "printer": one.planned.printer.name,
        "turned_deg": 90 * said.match.way.quarters,
        "mirrored": said.match.way.mirrored,
        "shifted_mm": list(said.match.shift_mm),
        "counts_from_middle": said.match.middle,
        "planned": {
            "grams": batch.mass_g,
            "metres": round(one.planned.metres, 3),
            "minutes": batch.minutes,
            "height_mm": batch.height_mm,
            "layer_height_mm": batch.layer_height_mm,
            "box_mm": [round(value, 3) for value in box_of(batch)],
        },
        "read": {
            "grams": round(figures.grams - figures.purge_g, 3),
            "metres": round(figures.metres - purge_m(one), 3),
            "purge_g": round(figures.purge_g, 3),
            "minutes": round(said.minutes, 2),
            "height_mm": round(figures.height_mm, 3),
            "layers": figures.layers,
            "layer_height_mm": round(figures.layer_height_mm, 3),
            "spiral": figures.spiral,
            "box_mm": None if figures.box_mm is None else [round(value, 3) for value in figures.box_mm],
            "nozzle_c": figures.nozzle_c or None,
            "bed_c": figures.bed_c or None,
            "filaments": [
                {"number": fed.tool, "metres": round(fed.metres, 3), "grams": round(fed.grams, 3)}
                for fed in figures.fed
            ],
        },
        "pieces": {
            "there": list(lies.there),
            "in_part": list(lies.in_part),
            "elsewhere": list(lies.elsewhere),
            "twice": list(lies.doubled),
            "missing": list(lies.missing),
        },
        "differences": list(said.differences),
        "causes": list(said.causes),
        "faults": list(said.faults),
        "notes": list(said.notes),
    }
