"""The timetable to scale: no label over another, the next visit, what runs already, what changes."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import combinations

import pytest
from lxml import etree

from planner.model.schedule import RUNNING, Draw, Run, Visit
from planner.report.drawings.timetable import (
    BEGUN,
    FULL,
    SMALL_ROWS,
    busy_printers,
    in_strip,
    row_name,
    span_of,
    strip,
    strip_height,
    strips,
)
from planner.report.exports.calendar import LONGEST_SUMMARY, short_summary
from planner.report.layout.colours import ACCENT
from planner.report.layout.drawing import SMALL, text_width
from planner.report.lookup import Lookup
from planner.report.sheets.timetable_sheet import timetable_sheets
from tests.plan_edges import crowded_plan
from tests.plan_samples import START, sample_plan


def drawn(plan, layout=FULL):
    look = Lookup(plan)
    rows = busy_printers(look)
    return [
        etree.fromstring(strip(look, a, b, rows, f"k{n}", layout)) for n, (a, b) in enumerate(strips(look))
    ]


def labels(svg):
    """Boxes of all lettering: left, right, top, bottom, words."""
    found = []
    for node in svg.iter("{*}text", "text"):
        if "rotate" in (node.get("transform") or ""):
            continue
        size, words = float(node.get("font-size")), "".join(node.itertext())
        width = text_width(words, size) / 1.08
        left = float(node.get("x")) - {"middle": width / 2, "end": width}.get(node.get("text-anchor"), 0.0)
        base = float(node.get("y"))
        found.append((left, left + width, base - 0.72 * size, base, words))
    return found


def many_short_runs(plan):
    """Runs of twenty minutes one after another, each with a change of filament."""
    first = plan.schedule.runs[0]
    filaments = [filament.name for filament in plan.workshop.filaments]
    runs = tuple(
        replace(
            first,
            name=f"run {n}",
            start=START + timedelta(minutes=40 * n),
            end=START + timedelta(minutes=40 * n + 20),
            changed_from=filaments[n % len(filaments)],
        )
        for n in range(40)
    )
    return replace(plan, schedule=replace(plan.schedule, runs=runs, finish=runs[-1].end))


@pytest.mark.parametrize("layout", [FULL, SMALL_ROWS])
@pytest.mark.parametrize("make", [sample_plan, crowded_plan, lambda: many_short_runs(sample_plan())])
def test_no_label_lies_over_another(make, layout):
    """Names of beds, letters of filaments and changes, days and hours keep clear of each other."""
    for svg in drawn(make(), layout):
        for one, other in combinations(labels(svg), 2):
            apart = one[1] <= other[0] or other[1] <= one[0] or one[3] <= other[2] or other[3] <= one[2]
            assert apart, (one, other)


def test_the_next_visit_is_a_band_and_in_words():
    """The first visit is highlighted in the drawing and in the list."""
    plan = sample_plan()
    svg = drawn(plan)[0]
    bands = [node for node in svg.iter("{*}rect", "rect") if node.get("fill") == ACCENT]
    assert len(bands) == 1
    assert any(words.startswith("next visit: ") for *_, words in labels(svg))
    blocks = [
        block for sheet in timetable_sheets(Lookup(plan)) for block in sheet.blocks if block.kind == "table"
    ]
    assert [str(row.cells[0]).count("next") for row in blocks[0].rows] == [1] + [0] * (
        len(blocks[0].rows) - 1
    )


def test_what_had_begun_is_grey_and_begins_with_the_plan():
    """Of a run that began a day before, an hour is shown, and it asks for no start."""
    plan = sample_plan()
    first = replace(plan.schedule.runs[0], start=START - timedelta(hours=20), mark=RUNNING)
    plan = replace(plan, schedule=replace(plan.schedule, runs=(first, *plan.schedule.runs[1:])))
    since, _ = span_of(Lookup(plan))
    assert since == (START - timedelta(hours=1)).timestamp()
    assert [node.get("fill") for node in drawn(plan)[0].iter("{*}rect", "rect")].count(BEGUN) == 1


def test_a_change_of_spool_in_mid_run_is_marked_where_it_falls():
    """A dotted tick after three of four parts of the run."""
    plan = sample_plan()
    first = plan.schedule.runs[0]
    cut = replace(first, draws=(Draw("a", 30.0), Draw("b", 10.0)))
    plan = replace(plan, schedule=replace(plan.schedule, runs=(cut, *plan.schedule.runs[1:])))
    look = Lookup(plan)
    since, until = strips(look)[0]
    ticks = [
        float(node.get("x1"))
        for node in drawn(plan)[0].iter("{*}line", "line")
        if node.get("stroke") == ACCENT and node.get("stroke-dasharray")
    ]
    at = first.start.timestamp() + 0.75 * (first.end - first.start).total_seconds()
    assert ticks == pytest.approx(
        [FULL.gutter + (at - since) / (until - since) * (FULL.width - 0.5 - FULL.gutter)], abs=0.01
    )


def test_many_printers_come_in_strips_that_fit_a_sheet():
    """Forty printers: three strips of rows, none taller than a sheet."""
    plan = sample_plan()
    run = plan.schedule.runs[0]
    runs = tuple(
        Run(f"run {n}", run.batch, f"desk {n}", run.start, run.end, True, (), 0.0) for n in range(40)
    )
    plan = replace(plan, schedule=replace(plan.schedule, runs=runs))
    figures = [b for sheet in timetable_sheets(Lookup(plan)) for b in sheet.blocks if b.kind == "figure"]
    assert len(figures) == 3 * len(strips(Lookup(plan)))
    assert all(figure.height_mm < 234.0 for figure in figures)


def test_printers_with_nothing_in_a_strip_are_folded_away():
    """Of forty, twenty print on the first day and five a week later over a midnight."""
    plan = sample_plan()
    run = plan.schedule.runs[0]
    runs = [replace(run, name=f"run {n}", printer=f"desk {n}") for n in range(20)]
    week = timedelta(days=7)
    runs += [
        replace(run, name=f"late {n}", printer=f"desk {n + 30}", start=run.start + week, end=run.end + week)
        for n in range(5)
    ]
    plan = replace(plan, schedule=replace(plan.schedule, runs=tuple(runs), finish=runs[-1].end))
    look = Lookup(plan)
    spans = strips(look)
    assert [len(in_strip(look, *span)) for span in spans] == [20, 5, 5]  # the late ones print over a midnight
    sheets = timetable_sheets(look)
    figures = [b for sheet in sheets for b in sheet.blocks if b.kind == "figure"]
    assert [round((b.height_mm - strip_height(0)) / FULL.row) for b in figures] == [16, 4, 5, 5]
    words = " ".join(str(b) for sheet in sheets for b in sheet.blocks if b.kind == "words")
    assert "Printers with nothing in a strip are left out of it." in words


def test_the_number_of_a_machine_is_never_cut_off():
    """Its name is, where there is no room; a name without a number is cut at its end."""
    cut = [row_name(f"farm machine {n}", SMALL, 11.0) for n in (9, 40)]
    assert [name.split()[-1] for name in cut] == ["9", "40"]
    assert all("\u2026" in name and text_width(name, SMALL) <= 11.0 for name in cut)
    assert row_name("farm machine", SMALL, 9.0).endswith("\u2026")
    assert row_name("desk 1", SMALL, 11.0) == "desk 1"
    assert row_name("desk 123456789012", SMALL, 9.0).startswith("desk")


def test_the_summary_of_an_event_is_short():
    """Beds by name where they fit, counted where they do not."""
    tasks = (
        "clear bed 3 from desk 1",
        "take spool 7 off desk 1",
        "put spool 8 on desk 1",
        "start bed 9 on desk 1",
    )
    assert short_summary(Visit(START, 30, tasks)) == "clear bed 3; change 1 spool; start bed 9"
    many = tuple(
        f"{verb} bed {n} {way} desk {n}"
        for n in range(30)
        for verb, way in (("clear", "from"), ("start", "on"))
    )
    assert short_summary(Visit(START, 300, many)) == "clear 30 beds, start 30 beds"
    for tasks in (("x" * 500,), (), ("clear " + "b" * 300 + " from x",)):
        assert 0 < len(short_summary(Visit(START, 5, tasks))) <= LONGEST_SUMMARY
