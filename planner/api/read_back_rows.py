"""What was planned of a bed and what its machine file says, figure by figure, for every way of telling it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.units import hours_text

if TYPE_CHECKING:
    from planner.api.reading_back import ReadBed
    from planner.model.batch import Batch

LEAST_PURGE_G = 0.05  # less is told as 0.0

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Row:
    """One figure: its name with its unit, as planned, as read."""

    name: str
    planned: str
    read: str


def rows_of(one: ReadBed) -> list[Row]:
    """Grams, metres, time, height, layers and box; nothing of a file that is like no bed."""
    if one.said is None or one.planned is None:
        return []
    said, batch = one.said, one.planned.batch
    figures, plan = said.figures, box_of(batch)
    layers = round(batch.height_mm / batch.layer_height_mm)
    return [
        Row("grams", f"{batch.mass_g:.1f}", f"{figures.grams - figures.purge_g:.1f}"),
        Row("metres", f"{one.planned.metres:.2f}", f"{figures.metres - purge_m(one):.2f}"),
        Row("time", hours_text(batch.minutes), hours_text(said.minutes)),
        Row("height mm", f"{batch.height_mm:.2f}", f"{figures.height_mm:.2f}"),
        Row("layers", str(layers), "spiral" if figures.spiral else str(figures.layers)),
        Row("layer mm", f"{batch.layer_height_mm:.2f}", f"{figures.layer_height_mm:.2f}"),
        Row("box mm", f"{plan[2] - plan[0]:.0f} x {plan[3] - plan[1]:.0f}", _sides(figures.box_mm)),
    ]


def purge_m(one: ReadBed) -> float:
    """Metres of filament that went into purge."""
    if one.said is None or one.planned is None:
        return 0.0
    return one.said.figures.purge_g * one.planned.filament.metres_per_gram


def box_of(batch: Batch) -> Box:
    """Low x, low y, high x, high y of all pieces of a bed."""
    points = [point for placed in batch.placed for point in placed.outline_mm]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _sides(box: Box | None) -> str:
    return "-" if box is None else f"{box[2] - box[0]:.0f} x {box[3] - box[1]:.0f}"
