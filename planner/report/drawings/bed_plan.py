"""A bed plan as a drawing of its own: the bench sheet that lies beside the printer."""

from __future__ import annotations

from planner.model.batch import Batch
from planner.model.plan import Plan
from planner.report.drawings.bed_drawing import BedDrawing, bed_drawing
from planner.report.drawings.bed_facts import PieceRow, facts_of, pieces_of, watch_of
from planner.report.drawings.bed_scale import bed_scales
from planner.report.layout.colours import ACCENT, GREY, INK, RULE
from planner.report.layout.drawing import (
    MIDDLE,
    SMALL,
    TEXT,
    THIN,
    fitted,
    group,
    line,
    lines_of,
    picture,
    rect,
    text,
    text_width,
)
from planner.report.layout.legend import letter_mark
from planner.report.lookup import Lookup
from planner.version import __version__

_WIDTH = 180.0
_HIGHEST = 240.0
_PAD = 5.0
_ROW = 4.4
_MOST_ROWS = 12  # of one column


def bed_plan_svg(plan: Plan, batch_name: str, look: Lookup | None = None) -> str:
    """A bench sheet: facts of the batch, the bed drawn true to the stated scale, its pieces by number.

    Parameters
    ----------
    look : of the plan, where there is one already: it knows the beds that were drawn

    Raises
    ------
    KeyError
        when the plan has no batch of that name
    """
    look = look or Lookup(plan)
    batch = look.batch[batch_name]
    scales = bed_scales(look, _WIDTH - 2 * _PAD, _HIGHEST)
    drawn = bed_drawing(look, batch, "bed", room_mm=_WIDTH - 2 * _PAD, scale=scales[batch.name])
    parts, y = _head(plan, look, batch)
    across = (_WIDTH - drawn.width_mm) / 2
    parts.append(group(drawn.parts, transform=f"translate({across:.2f} {y:.2f})"))
    table, y = _table(pieces_of(look, batch), y + drawn.height_mm + 3.0)
    watch, y = _watch(watch_of(look, batch), y + 3.0)
    foot, y = _foot(plan, drawn, y + 2.0)
    frame = rect(0.25, 0.25, _WIDTH - 0.5, y - 0.5, stroke=INK, stroke_width=MIDDLE)
    label = f"Bed plan of {batch.name}, {plan.airframe.name}"
    return picture(_WIDTH, y, [*parts, *table, *watch, *foot, frame], label, standalone=True)


def _head(plan: Plan, look: Lookup, batch: Batch) -> tuple[list[str], float]:
    room = _WIDTH - 2 * _PAD
    name = fitted(batch.name, 6.0, room * 0.6)
    left = text_width(name, 6.0) + 4.0
    parts = [
        text(_PAD, 10.0, name, 6.0),
        text(_WIDTH - _PAD, 10.0, fitted(plan.airframe.name, TEXT, room - left), TEXT, "end", fill=GREY),
        line(_PAD, 12.5, _WIDTH - _PAD, 12.5, THIN),
    ]
    x, y = _PAD, 17.5
    for label, value in facts_of(look, batch):
        value = fitted(value, TEXT, room - 24.0)
        width = text_width(label, SMALL) + 1.5 + text_width(value, TEXT)
        if x > _PAD and x + width > _WIDTH - _PAD:
            x, y = _PAD, y + _ROW
        parts.append(text(x, y, label, SMALL, fill=GREY))
        at = x + text_width(label, SMALL) + 1.5
        if label == "filament":
            parts.append(letter_mark(at + 1.6, y - 0.9, look.letter.get(batch.filament, "?"), 1.6))
            at, width = at + 4.2, width + 4.2
        parts.append(text(at, y, value, TEXT))
        x += width + 6.0
    return parts, y + 4.0


def _table(rows: tuple[PieceRow, ...], y: float) -> tuple[list[str], float]:
    """Number, name, turn, height and grams of every piece, in two columns where there are many."""
    room = _WIDTH - 2 * _PAD
    if len(rows) <= _MOST_ROWS:
        return _column(rows, _PAD, room, y)
    half = -(-len(rows) // 2)
    left, low = _column(rows[:half], _PAD, room / 2 - 4.0, y)
    right, lower = _column(rows[half:], _PAD + room / 2 + 4.0, room / 2 - 4.0, y)
    return left + right, max(low, lower)


def _column(rows: tuple[PieceRow, ...], x: float, room: float, y: float) -> tuple[list[str], float]:
    """One column of the table; the section stands in it only where the column is wide."""
    end = x + room
    wide = room > 120.0
    places = [
        (x, "start", "no"),
        (x + 7.0, "start", "piece"),
        (end - 36.0, "start", "turn"),
        (end - 10.0, "end", "height"),
        (end, "end", "g"),
    ]
    name_room = places[2][0] - places[1][0] - 2.0
    if wide:
        name_room -= 40.0
        places.insert(2, (end - 76.0, "start", "section"))
    parts = [text(at, y, word, SMALL, anchor, fill=GREY) for at, anchor, word in places]
    parts.append(line(x, y + 1.2, end, y + 1.2, MIDDLE))
    for row in rows:
        names = lines_of(row.piece, TEXT, name_room)
        y += _ROW
        cells = [str(row.number), names[0], row.turn, row.height, row.mass]
        if wide:
            cells.insert(2, fitted(row.section, TEXT, 38.0))
        parts += [text(at, y, cell, TEXT, how) for (at, how, _), cell in zip(places, cells, strict=True)]
        for more in names[1:]:
            y += _ROW - 0.9
            parts.append(text(x + 7.0, y, more, TEXT))
        parts.append(line(x, y + 1.2, end, y + 1.2, THIN, stroke=RULE))
    return parts, y + 1.2


def _watch(told: tuple[str, ...], y: float) -> tuple[list[str], float]:
    parts: list[str] = []
    for note in told:
        for k, words in enumerate(lines_of(note, TEXT, _WIDTH - 2 * _PAD - 4.0)):
            y += 3.8
            if k == 0:
                parts.append(line(_PAD, y - 2.2, _PAD, y + 0.5, 0.7, stroke=ACCENT))
            parts.append(text(_PAD + 2.5, y, words, TEXT))
    return parts, y


def _foot(plan: Plan, drawn: BedDrawing, y: float) -> tuple[list[str], float]:
    y += 5.0
    left = (
        f"scale 1:{drawn.scale}, true when printed at its own size; a black tooth marks the side to which"
        " the part's own x axis points"
    )
    right = f"planner {__version__}"
    room = _WIDTH - 2 * _PAD - text_width(right, SMALL) - 4.0
    return [
        line(_PAD, y - 3.4, _WIDTH - _PAD, y - 3.4, THIN),
        text(_PAD, y, fitted(left, SMALL, room), SMALL, fill=GREY),
        text(_WIDTH - _PAD, y, right, SMALL, "end", fill=GREY),
    ], y + 3.5
