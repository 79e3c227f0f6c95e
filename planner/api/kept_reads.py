"""What was read of a machine file as a record that can be kept, shown, and taken later."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.api.kept_layers import layers_record
from planner.api.read_back_json import row_of
from planner.api.read_back_rows import LEAST_PURGE_G, rows_of
from planner.api.taking_back import Offer, offers_of
from planner.errors import PlannerError

if TYPE_CHECKING:
    from planner.api.ledger_place import LedgerPlace
    from planner.api.reading_back import Beds, ReadBed

SPIRAL_LAYER_MM = 0.2  # of a spiral that is like no bed


def read_record(one: ReadBed, offer: Offer) -> dict[str, Any]:
    """All that is told of a file, and what it offers the plan."""
    said, figures = one.said, one.said.figures if one.said is not None else None
    return {
        **row_of(one),
        "rows": [[row.name, row.planned, row.read] for row in rows_of(one)],
        "purge_g": round(figures.purge_g, 1) if figures and figures.purge_g >= LEAST_PURGE_G else None,
        "good": said is not None and not said.faults and not said.differences,
        "offer": {"bed": offer.bed, "why_not": offer.why_not, "data": dict(offer.data)},
    }


def offer_of(record: Mapping[str, Any]) -> Offer:
    """What a record offers the plan."""
    kept = record["offer"]
    return Offer(str(record["file"]), str(kept["bed"]), str(kept["why_not"]), dict(kept["data"]))


def read_and_keep(
    place: LedgerPlace, beds: Beds, path: Path, kept: Path, told: Callable[[int], None] | None = None
) -> dict[str, Any]:
    """Read a file and keep its layers at ``kept``: ``.bin`` all beads, ``.json`` what belongs to them.

    A file that is refused is a record of the refusal, in the words of the reader, and leaves nothing behind.

    Parameters
    ----------
    told : hears how many bytes were read
    """
    from planner.readback.layers import LayerFile

    widest = max(max(one.bed.width_mm, one.bed.depth_mm) for one in beds.shop.printers)
    layers = LayerFile(kept.with_suffix(".bin"), widest)
    try:
        one = beds.read(path, told, layers)
        record = read_record(one, offers_of(place, [one])[0])
        rise = 0.0
        if one.said is not None and one.said.figures.spiral:
            rise = one.planned.batch.layer_height_mm if one.planned is not None else SPIRAL_LAYER_MM
        index = layers.close(one.heights_mm, rise)
    except PlannerError as error:
        layers.drop()
        why = str(type(error)(error.what, where=path.name, next_step=error.next_step))
        return {"file": path.name, "bed": None, "refused": why}
    except BaseException:
        layers.drop()
        raise
    shown = layers_record(one, index, beds.shop.printers[0].bed)
    kept.with_suffix(".json").write_text(json.dumps(shown, allow_nan=False), encoding="utf-8")
    return {**record, "refused": "", "beads": sum(index.beads)}
