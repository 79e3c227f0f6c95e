"""What the views of the airframe are made of: outlines of the pieces, bubbles of mass, the balance."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from planner.model.budget import MassItem
from planner.report.drawings.callouts import Mark
from planner.report.drawings.gauges import gravity_mark
from planner.report.drawings.label_spots import Ring, inside
from planner.report.layout.colours import ACCENT, INK
from planner.report.layout.drawing import (
    THIN,
    circle,
    element,
    group,
    line,
    path,
)
from planner.report.layout.legend import hatch_definitions, hatch_name, plain_style, section_styles
from planner.report.lookup import Lookup
from planner.report.plain import escaped
from planner.report.words import grams

At = Callable[[float, float], tuple[float, float]]  # airframe, in the plane of the view, to paper
SCALES = (1, 2, 5, 10, 20, 50, 100)
SCREEN_SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)  # where none is stated
LARGEST = 5.0  # radius of the heaviest bubble, mm
_OUTLINE = 0.18  # between thin and middle: small parts stay open
NAMED = 9  # the heaviest items carry their name


@dataclass(frozen=True, slots=True)
class View:
    """A drawing with its size on paper and its scale 1 : ``scale``."""

    svg: str
    height_mm: float
    scale: int


@dataclass(frozen=True, slots=True)
class Spot:
    """An item and where it is drawn in the plane of the view; ``known`` says whether all of it is known."""

    item: MassItem
    place: tuple[float, float]
    known: bool


def scale_for(room: tuple[float, float], size: tuple[float, float], scales: Sequence[int] = SCALES) -> int:
    """The largest of the scales at which a size fits into a room."""
    fits = (s for s in scales if size[0] / s <= room[0] and size[1] / s <= room[1])
    return next(fits, scales[-1])


def radius_of(item: MassItem, largest_g: float) -> float:
    """Areas of bubbles go with mass."""
    return max(LARGEST * math.sqrt(item.mass_g / largest_g), 0.55)


def outlines(
    look: Lookup, view: str, shown: Sequence[tuple[str, Sequence[Ring]]], at: At
) -> tuple[list[str], list[list[tuple[float, float]]]]:
    """Markup of the pieces in the hatch of their sections, and their outer rings on paper."""
    styles = section_styles(look)
    used = [styles.get(look.section(name), plain_style()) for name, _ in shown]
    parts = [hatch_definitions(view, used)] if shown else []
    rings_on_paper: list[list[tuple[float, float]]] = []
    for (name, rings), style in zip(shown, used, strict=True):
        drawn = [[at(x, y) for x, y in ring] for ring in rings]
        rings_on_paper += drawn
        shape = path(
            drawn,
            fill=f"url(#{hatch_name(view, style)})",
            fill_rule="evenodd",
            stroke=INK,
            stroke_width=_OUTLINE,
            stroke_linejoin="round",
        )
        parts.append(group([element("title", {}, escaped(name)), shape]))
    return parts, rings_on_paper


def openings(shown: Sequence[tuple[str, Sequence[Ring]]], at: At) -> list[list[tuple[float, float]]]:
    """The holes of pieces on paper: rings that lie inside another of the same piece."""
    return [
        [at(x, y) for x, y in ring]
        for _, rings in shown
        for ring in rings
        if any(other is not ring and inside(other, np.asarray(ring[:1]))[0] for other in rings)
    ]


def bubbles(spots: Iterable[Spot], at: At, told: Callable[[Spot], str]) -> tuple[list[str], list[Mark]]:
    """Markup of the bubbles, heaviest below, and a mark for each; the heaviest ones are named."""
    ordered = sorted(spots, key=lambda spot: (-spot.item.mass_g, spot.item.what))
    largest = max((spot.item.mass_g for spot in ordered), default=1.0)
    parts, marks = [], []
    for rank, spot in enumerate(ordered):
        x, y = at(*spot.place)
        radius = radius_of(spot.item, largest)
        printed = spot.item.kind == "printed"
        bubble = circle(
            x,
            y,
            radius,
            fill=INK if printed else "#ffffff",
            fill_opacity="0.28" if printed else "0.7",
            stroke=INK,
            stroke_width=THIN if printed else 0.2,
            stroke_dasharray=None if spot.known else "0.7 0.5",
        )
        parts.append(group([element("title", {}, escaped(told(spot))), bubble]))
        named = rank < NAMED
        words, tail = (spot.item.what, grams(spot.item.mass_g)) if named else ("", "")
        marks.append(Mark(x, y, radius, words, tail))
    return parts, marks


def balance_mark(
    look: Lookup, spot: tuple[float, float], low_high: Sequence[tuple[float, float]]
) -> list[str]:
    """The quartered circle with the range of the balance as a line through it."""
    colour = ACCENT if look.plan.balance.inside is False else INK
    parts = []
    if len(low_high) == 2:
        (x0, y0), (x1, y1) = low_high
        parts.append(line(x0, y0, x1, y1, 0.7, stroke=colour))
    return [*parts, gravity_mark(*spot, 1.9, colour)]
