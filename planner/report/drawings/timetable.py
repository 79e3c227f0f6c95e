"""The timetable to scale: one row a printer, nights and absence behind, filament under the run."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from planner.model.schedule import RUNNING, Run
from planner.report.absent import absent
from planner.report.drawings.attended import absences, midnights, nights
from planner.report.layout.blocks import NARROW
from planner.report.layout.colours import ACCENT, GREY, INK, RULE
from planner.report.layout.drawing import (
    MIDDLE,
    SMALL,
    TEXT,
    THIN,
    element,
    fitted,
    group,
    line,
    path,
    picture,
    rect,
    text,
    text_width,
)
from planner.report.layout.legend import letter_mark
from planner.report.lookup import Lookup
from planner.report.plain import escaped
from planner.report.words import DAYS, instant, short_time, zone_of

HOUR = 3600.0
_DASHES = (None, "2.4 0.9", "0.9 0.7", "3.4 0.7 0.7 0.7", "1.6 1.6")


@dataclass(frozen=True, slots=True)
class Layout:
    """Sizes on paper, mm."""

    width: float
    gutter: float
    head: float = 8.5
    row: float = 13.0
    bar: float = 5.6
    band: float = 1.1
    lettered: bool = True  # room for the letters of changeovers and the words of the next visit


FULL = Layout(170.0, 27.0)
SMALL_ROWS = Layout(136.0, 17.0, head=6.0, row=7.2, bar=3.6, band=0.8, lettered=False)
NARROW_ROWS = Layout(NARROW, 13.0, head=6.0, row=7.2, bar=3.6, band=0.8, lettered=False)
MOST_ROWS = 16  # printers of one strip on a sheet
BEGUN = "#c3ccd5"  # a run that had begun before the plan was made


def span_of(look: Lookup) -> tuple[float, float] | None:
    """From the start of the plan or its first run to the end of the last; ``None`` without runs.

    Of runs that had begun before the plan was made one hour is shown.
    """
    runs = look.plan.schedule.runs
    if not runs:
        return None
    plan = look.plan
    start = instant(plan.start, plan)
    first = min(start, *(max(instant(run.start, plan), start - HOUR) for run in runs))
    last = max(instant(run.end, plan) for run in runs)
    return first, max(last, first + HOUR)


def strips(look: Lookup, layout: Layout = FULL, most_hours: float = 96.0) -> list[tuple[float, float]]:
    """The whole time cut at midnight into strips of at most ``most_hours``, each as long as the first."""
    span = span_of(look)
    if span is None:
        return []
    since, until = span
    if until - since <= most_hours * HOUR:
        return [(since, until)]
    starts = midnights(zone_of(look.plan), since - 24 * HOUR + 1, until)
    days = int(most_hours // 24)
    begins = [at for at, _ in starts][::days] or [since]
    ends = [*begins[1:], begins[-1] + most_hours * HOUR]
    return [(a, b) for a, b in zip(begins, ends, strict=True) if b > since and a < until]


def printers_of(look: Lookup) -> tuple[str, ...]:
    """Printers in the order of the workshop, then any that only a run names."""
    named = [printer.name for printer in look.plan.workshop.printers]
    return tuple(dict.fromkeys([*named, *(run.printer for run in look.plan.schedule.runs)]))


def busy_printers(look: Lookup) -> tuple[str, ...]:
    """The printers that have something to do, or are away meanwhile."""
    busy = {run.printer for run in look.plan.schedule.runs}
    busy |= {one.name for one in absent(look.plan) if one.what == "printer"}
    return tuple(name for name in printers_of(look) if name in busy)


def in_strip(look: Lookup, since: float, until: float) -> frozenset[str]:
    """Printers that print in a stretch of time, or are away in it."""
    plan = look.plan
    spans = [(run.printer, run.start, run.end) for run in plan.schedule.runs]
    spans += [(one.name, one.since, one.until or one.since) for one in absent(plan) if one.what == "printer"]
    ever = {one.name for one in absent(plan) if one.until is None and instant(one.since, plan) < until}
    return frozenset(n for n, a, b in spans if instant(a, plan) < until and instant(b, plan) > since) | ever


def strip_height(rows: int, layout: Layout = FULL) -> float:
    """Height of a strip on paper, mm."""
    return layout.head + rows * layout.row + 2.6 + (3.0 if layout.lettered else 0.0)


def strip(
    look: Lookup, since: float, until: float, rows: tuple[str, ...], prefix: str, layout: Layout = FULL
) -> str:
    """The drawing of one strip of time for these printers."""
    scale = _Axis(since, until, layout)
    height = strip_height(len(rows), layout)
    bottom = layout.head + len(rows) * layout.row
    parts = [_hatch(prefix), *_grounds(look, scale, bottom, prefix), *_next_visit(look, scale, bottom)]
    parts += _axis(look, scale, bottom)
    for k, name in enumerate(rows):
        parts += _row(look, scale, name, layout.head + k * layout.row)
    parts += _visits(look, scale, bottom)
    return picture(layout.width, height, parts, "timetable")


class _Axis:
    """Time to paper."""

    def __init__(self, since: float, until: float, layout: Layout) -> None:
        self.since, self.until, self.layout = since, until, layout
        self.left, self.right = layout.gutter, layout.width - 0.5
        self.mm_per_hour = (self.right - self.left) / (until - since) * HOUR

    def x(self, at: float) -> float:
        share = (min(max(at, self.since), self.until) - self.since) / (self.until - self.since)
        return self.left + share * (self.right - self.left)


def _hatch(prefix: str) -> str:
    tile = {
        "id": f"{prefix}-away",
        "width": 1.6,
        "height": 1.6,
        "patternUnits": "userSpaceOnUse",
        "patternTransform": "rotate(45)",
    }
    return element("defs", {}, element("pattern", tile, line(0, 0, 0, 1.6, 0.2, stroke="#a3afbb")))


def _grounds(look: Lookup, scale: _Axis, bottom: float, prefix: str) -> list[str]:
    head = scale.layout.head
    zone = zone_of(look.plan)
    dark = [
        rect(scale.x(a), head, scale.x(b) - scale.x(a), bottom - head, fill="#e6eaef")
        for a, b in nights(zone, scale.since, scale.until)
    ]
    away = [
        rect(scale.x(a), head, scale.x(b) - scale.x(a), bottom - head, fill=f"url(#{prefix}-away)")
        for a, b in absences(look.plan.workshop.attendance, scale.since, scale.until)
    ]
    return dark + away


def _axis(look: Lookup, scale: _Axis, bottom: float) -> list[str]:
    head, zone = scale.layout.head, ZoneInfo(zone_of(look.plan))
    parts = [line(scale.left, head, scale.right, head, MIDDLE), line(scale.left, bottom, scale.right, bottom)]
    days = midnights(zone.key, scale.since, scale.until)
    first = datetime.fromtimestamp(scale.since, zone).date()
    marks = days if days and days[0][0] <= scale.since else [(scale.since, first), *days]
    for k, (at, day) in enumerate(marks):
        x = scale.x(at)
        end = scale.x(marks[k + 1][0]) if k + 1 < len(marks) else scale.right
        told = f"{DAYS[day.weekday()]} {day:%m-%d}"
        for words in (told, told[:3], f"{day:%d}"):
            if text_width(words, SMALL) + 1.0 <= end - x:
                parts.append(text(x + 0.6, head - 3.6, words, SMALL))
                break
        if at > scale.since:
            parts.append(line(x, head - 6.0, x, bottom, MIDDLE))
    step = next((s for s in (3, 6, 12) if s * scale.mm_per_hour >= 4.5), 0)
    for at, day in midnights(zone.key, scale.since - 24 * HOUR, scale.until) if step else ():
        for hour in range(step, 24, step):
            moment = datetime(day.year, day.month, day.day, hour, tzinfo=zone).timestamp()
            if scale.since < moment < scale.until and at <= moment:
                x = scale.x(moment)
                parts += [
                    line(x, head - 0.9, x, head),
                    text(x, head - 1.3, f"{hour:02d}", 1.9, "middle", fill=GREY),
                ]
    return parts


def row_name(name: str, size: float, width: float) -> str:
    """The name, cut where it is too wide; a number at its end stays, so that machines are told apart."""
    first, _, last = name.rpartition(" ")
    if not first or not last.isdigit() or text_width(name, size) <= width:
        return fitted(name, size, width)
    room = width - text_width(f" {last}", size)
    return f"{fitted(first, size, room)} {last}" if room > 0.0 else fitted(name, size, width)


def _row(look: Lookup, scale: _Axis, name: str, top: float) -> list[str]:
    layout = scale.layout
    middle = top + layout.row / 2
    size = TEXT if layout.row > 10 else SMALL
    parts = [
        line(0, top, scale.right, top, THIN, stroke=RULE) if top > layout.head else "",
        text(0, middle + 0.3 * size, row_name(name, size, layout.gutter - 2.0), size),
    ]
    parts += _gone(look, scale, name, top)
    free = scale.left  # nothing above or below the bars is lettered before it
    for run in look.plan.schedule.runs:
        begin, end = instant(run.start, look.plan), instant(run.end, look.plan)
        if run.printer == name and begin < scale.until and end > scale.since:
            drawn, free = _run(look, scale, run, top, free)
            parts.append(drawn)
    return parts


def _gone(look: Lookup, scale: _Axis, name: str, top: float) -> list[str]:
    """Where a printer is away: a grey block with a cross through it, and a word where it fits."""
    layout, parts = scale.layout, []
    for one in absent(look.plan):
        begin = instant(one.since, look.plan)
        end = instant(one.until, look.plan) if one.until is not None else scale.until
        if one.what != "printer" or one.name != name or begin >= scale.until or end <= scale.since:
            continue
        a, b = scale.x(begin), scale.x(end)
        y, height = top + 0.7, layout.row - 1.4
        told = "away" + (f": {one.why}" if one.why else "")
        drawn = [
            element("title", {}, escaped(one.words())),
            rect(a, y, b - a, height, fill="#eef1f4", stroke=GREY, stroke_width=THIN),
            line(a, y, b, y + height, THIN, stroke=GREY),
            line(a, y + height, b, y, THIN, stroke=GREY),
        ]
        words = next((w for w in (told, "away") if text_width(w, SMALL) + 2.0 <= b - a), "")
        if words:
            half = text_width(words, SMALL) / 2 + 0.6
            middle, low = (a + b) / 2, y + height / 2
            drawn.append(rect(middle - half, low - 1.8, 2 * half, 3.6, fill="#eef1f4"))
            drawn.append(text(middle, low + 0.36 * SMALL, words, SMALL, "middle", fill=GREY))
        parts.append(group(drawn, class_="away"))
    return parts


def _run(look: Lookup, scale: _Axis, run: Run, top: float, free: float) -> tuple[str, float]:
    """The bar of a run with its name, filament and changes; and from where the next may be lettered."""
    layout, batch = scale.layout, look.batch.get(run.batch)
    begin = instant(run.start, look.plan)
    a, b = scale.x(begin), scale.x(instant(run.end, look.plan))
    width = max(b - a, 0.6)
    y = top + (layout.row - layout.bar - layout.band - 1.0) / 2
    filament = batch.filament if batch else ""
    letter = look.letter.get(filament, "?")
    fill = BEGUN if run.mark == RUNNING else "#ffffff"
    named, free = _bed_name(look, scale, run, a, width, y + layout.bar / 2, free)
    parts = [
        element("title", {}, text_of(run, filament)),
        rect(a, y, width, layout.bar, fill=fill, stroke=INK, stroke_width=MIDDLE),
        named,
    ]
    under = y + layout.bar + 1.0
    dash = _DASHES[(list(look.letter).index(filament) if filament in look.letter else 0) % len(_DASHES)]
    parts.append(line(a, under, a + width, under, layout.band, stroke_dasharray=dash))
    if width > 7.0:
        parts.append(letter_mark(a + 2.6, under, letter, 1.5 if layout.lettered else 1.25))
    elif layout.lettered and width > text_width(letter, 1.9):
        parts.append(text(a + width / 2, under + 2.7, letter, 1.9, "middle", font_weight="bold"))
    if run.changed_from is not None and run.mark != RUNNING and begin >= scale.since:
        drawn, free = _change(look, scale, run, a, width, y, free)
        parts.append(drawn)
    parts += _spool_changes(look, scale, run, y)
    return group(parts, class_="run"), free


def text_of(run: Run, filament: str) -> str:
    """What hovering over a run says, escaped."""
    return escaped(f"{run.batch} on {run.printer}, {filament}")


def _bed_name(
    look: Lookup, scale: _Axis, run: Run, a: float, width: float, middle: float, free: float
) -> tuple[str, float]:
    """The bed's name in its bar, its number in a short one; above it where nothing else stands there."""
    size = TEXT
    for words in (run.batch, look.short_name.get(run.batch, "")):
        if words and text_width(words, size) + 1.0 <= width:
            return text(a + width / 2, middle + 0.36 * size, words, size, "middle"), free
    short = fitted(look.short_name.get(run.batch, run.batch), 1.9, 8.0)
    half = text_width(short, 1.9) / 2
    if not scale.layout.lettered or a + width / 2 - half < free:
        return "", free
    return text(a + width / 2, middle - 3.4, short, 1.9, "middle"), a + width / 2 + half + 0.6


def _change(
    look: Lookup, scale: _Axis, run: Run, a: float, width: float, y: float, free: float
) -> tuple[str, float]:
    """A changeover: a tick before the run, and the letters above its bar where there is room."""
    tick = line(a - 0.5, y - 1.4, a - 0.5, y + scale.layout.bar + 1.2, 0.5, stroke=ACCENT)
    batch = look.batch.get(run.batch)
    before, after = run.changed_from or "", batch.filament if batch else ""
    told = f"{look.letter.get(before, '?')}\u2192{look.letter.get(after, '?')}"
    room = text_width(told, 1.9) + 0.6
    if not scale.layout.lettered or room > width or a < free:
        return tick, free
    return tick + text(a + 0.2, y - 0.6, told, 1.9, fill=ACCENT), a + room + 0.6


def _spool_changes(look: Lookup, scale: _Axis, run: Run, y: float) -> list[str]:
    """A dotted tick through the bar where the spool is changed in mid-run."""
    total, given = run.total_g, 0.0
    begin, end = instant(run.start, look.plan), instant(run.end, look.plan)
    parts = []
    for draw in run.draws[:-1]:
        given += draw.grams
        at = begin + (end - begin) * given / total
        if scale.since <= at < scale.until:
            x = scale.x(at)
            parts.append(
                line(
                    x, y - 0.6, x, y + scale.layout.bar + 0.6, 0.5, stroke=ACCENT, stroke_dasharray="0.9 0.6"
                )
            )
    return parts


def _next_visit(look: Lookup, scale: _Axis, bottom: float) -> list[str]:
    """The first visit as a band through all rows, and in words below where there is room for them."""
    visits = look.plan.schedule.visits
    if not visits:
        return []
    visit = visits[0]
    begin = instant(visit.at, look.plan)
    end = begin + 60.0 * visit.minutes
    if end <= scale.since or begin >= scale.until:
        return []
    a, b = scale.x(begin), scale.x(end)
    width = max(b - a, 0.8)
    parts = [rect(a, scale.layout.head, width, bottom - scale.layout.head, fill=ACCENT, fill_opacity=0.16)]
    if scale.layout.lettered:
        told = f"next visit: {short_time(visit.at, look.plan)}, {visit.minutes} min"
        x = min(a, scale.right - text_width(told, SMALL))
        parts.append(text(x, bottom + 4.9, told, SMALL, fill=ACCENT, font_weight="bold"))
    return parts


def _visits(look: Lookup, scale: _Axis, bottom: float) -> list[str]:
    """A small tooth below the rows for every visit."""
    parts = []
    for visit in look.plan.schedule.visits:
        at = instant(visit.at, look.plan)
        if scale.since - 1 <= at < scale.until:
            x = scale.x(at)
            parts.append(path([[(x, bottom), (x - 0.8, bottom + 1.8), (x + 0.8, bottom + 1.8)]], fill=ACCENT))
    return parts
