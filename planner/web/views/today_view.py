"""What the sheet Today shows: the next visit, beds that run, what to weigh, what was told last."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from planner.api.ledger_files import ledger_stamp
from planner.api.ledger_place import LedgerPlace, moment
from planner.api.today_sheet import BedPicture, TodaySheet, today_sheet
from planner.errors import PlannerError

if TYPE_CHECKING:
    from planner.ledger.fact import Fact

SMALL_MM = 16.0  # the number of a piece that is narrower is smaller


def today_view(place: LedgerPlace, at: str, now: datetime) -> dict[str, Any]:
    """Everything that the sheet shows; ``wrong`` is why it cannot, in the words of the reader.

    Parameters
    ----------
    at : another moment than now, as written; what is told from the sheet is then told of that moment
    """
    shown = {"found": None, "wrong": "", "at": at, "stamp": ledger_stamp(place.file)}
    if not place.plan_file.is_file():
        return shown
    try:
        when = moment(at, place.shop().attendance, now, "at") if at else now
        return {**shown, "found": _shown(today_sheet(place, when), when)}
    except PlannerError as error:
        return {**shown, "wrong": str(error)}


def _shown(sheet: TodaySheet, now: datetime) -> dict[str, Any]:
    today = sheet.today
    visit = today.visit
    return {
        "visit": None if visit is None else {"clock": f"{visit:%H:%M}", "day": f"{visit:%a %d %b}"},
        "minutes": today.minutes,
        "away": list(today.away),
        "steps": [{"text": step.text, "fact": fact_of(step.words)} for step in today.steps],
        "beds": [
            {
                "bed": bed.bed,
                "printer": bed.printer,
                "until": f"{bed.ends:%a %H:%M}",
                "how": "late" if bed.late else "told" if bed.told else "planned",
                "began": "" if bed.told else fact_of((bed.bed, "began")),
                "done": fact_of((bed.bed, "done")),
                "picture": picture(sheet.pictures.get(bed.bed)),
            }
            for bed in today.beds
        ],
        "later": [
            {
                "bed": bed,
                "began": fact_of((bed, "began")),
                "done": fact_of((bed, "done")),
                "picture": picture(sheet.pictures.get(bed)),
            }
            for bed in sheet.later
        ],
        "weigh": list(today.weigh),
        "glue": list(today.glue),
        "there": list(today.there),
        "spools": [
            {"name": one.name, "filament": one.filament, "grams": f"{one.grams:.0f}", "kept": one.accounted}
            for one in sheet.spools
        ],
        "last": [told_fact(fact, now) for fact in today.last],
        "cautions": list(today.cautions),
        "series": sheet.series,
    }


def fact_of(words: tuple[str, ...]) -> str:
    """What a button sends, empty where there is nothing to tell."""
    return json.dumps({"words": list(words)}, ensure_ascii=False) if words else ""


def told_fact(fact: Fact, now: datetime) -> dict[str, str]:
    """A fact in a line, and what takes it back."""
    grams = fact.data.get("grams")
    more = f" {grams:g} g" if isinstance(grams, (int, float)) else ""
    return {
        "text": f"{fact.at.astimezone(now.tzinfo):%a %H:%M} {fact.about} {fact.kind}{more}",
        "who": fact.who,
        "back": json.dumps({"words": ["undo"], "takes_back": fact.uid}),
    }


def picture(bed: BedPicture | None) -> dict[str, Any] | None:
    """A bed in millimetres as a screen draws it: y runs down."""
    if bed is None:
        return None
    pieces = []
    for lying in bed.pieces:
        points = [(x, bed.depth_mm - y) for x, y in lying.outline_mm]
        low, high = ([extreme(p[k] for p in points) for k in (0, 1)] for extreme in (min, max))
        wide = min(high[0] - low[0], high[1] - low[1]) >= SMALL_MM
        x, y = _inside(points)
        pieces.append(
            {
                "piece": lying.piece,
                "number": lying.number,
                "points": " ".join(f"{px:.1f},{py:.1f}" for px, py in points),
                "x": f"{x:.1f}",
                "y": f"{y:.1f}",
                "small": not wide,
            }
        )
    return {"shape": bed.shape, "width": bed.width_mm, "depth": bed.depth_mm, "pieces": pieces}


def _inside(points: list[tuple[float, float]]) -> tuple[float, float]:
    """The centroid of a ring (shoelace formula; geometry), its middle where it has no area."""
    twice = cx = cy = 0.0
    for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True):
        cross = x0 * y1 - x1 * y0
        twice, cx, cy = twice + cross, cx + (x0 + x1) * cross, cy + (y0 + y1) * cross
    if abs(twice) < 1e-9:
        return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)
    return cx / (3.0 * twice), cy / (3.0 * twice)


def changes_of(record: Mapping[str, Any] | None, stamp: str, last: int) -> dict[str, Any] | None:
    """A plan that waits to be taken; ``old`` where plan or facts went on since it was made."""
    if record is None:
        return None
    lines = record.get("offered", {}).get("lines", [])
    return {**record["shown"], "old": record["base"] != stamp or facts_told(record) != last, "lines": lines}


def facts_told(record: Mapping[str, Any]) -> int:
    """The place of the last fact that a plan which waits counts, without those written when it is taken."""
    return int(record["facts"]) - int(record.get("offered", {}).get("facts", 0))
