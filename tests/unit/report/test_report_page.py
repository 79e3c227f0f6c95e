"""The report page: self-contained, escaped, complete, one printed page a sheet."""

import os
import re
import shutil
import subprocess
from collections import Counter
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest

from planner.model.finding import Finding
from planner.report.drawings.bed_facts import pieces_of
from planner.report.exports.plan_json import plan_hash
from planner.report.layout.blocks import SMALL_TYPE, Column, Heading, Points, Row, Table
from planner.report.layout.drawing import text_width
from planner.report.layout.sheets import ROOM, joined, laid_out
from planner.report.lookup import Lookup
from planner.report.sheets.bench_sheet import bed_part_sheets, bench_sheets
from planner.report.sheets.page import report_html
from tests.plan_edges import bare_plan, crowded_plan, empty_plan, hostile_plan, misfit_plan
from tests.plan_samples import sample_plan

PLANS = [sample_plan, hostile_plan, empty_plan, bare_plan, misfit_plan, crowded_plan]
VOID = {"meta", "col", "br", "link", "img"}
ADDRESSES = {"href", "src", "xlink:href", "action", "data", "poster", "srcset"}


class Reader(HTMLParser):
    """Tags, identifiers, addresses and text of a page; unbalanced tags are noted."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.ids: Counter[str] = Counter()
        self.targets: list[str] = []
        self.handlers: list[str] = []
        self.words: list[str] = []
        self.faults: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags[tag] += 1
        if tag not in VOID:
            self.open.append(tag)
        self._attributes(attrs)

    def handle_startendtag(self, tag, attrs):
        self.tags[tag] += 1
        self._attributes(attrs)

    def _attributes(self, attrs):
        for key, value in attrs:
            if key == "id":
                self.ids[value] += 1
            if key in ADDRESSES:
                self.targets.append(value)
            if key.startswith("on"):
                self.handlers.append(key)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)

    def handle_data(self, data):
        if not self.open or self.open[-1] != "style":
            self.words.append(data)


@pytest.mark.parametrize("make", PLANS)
def test_page_is_sound_and_self_contained(make) -> None:
    """Tags balance, identifiers are unique and found, nothing is fetched, no script runs."""
    page = report_html(make())
    read = Reader(page)
    assert not read.faults
    assert not read.open
    assert not [name for name, times in read.ids.items() if times > 1]
    assert not read.handlers
    assert read.tags["script"] == read.tags["img"] == read.tags["link"] == read.tags["iframe"] == 0
    assert all(target.startswith("#") and target[1:] in read.ids for target in read.targets)
    used = set(re.findall(r"url\(#([^)]+)\)", page))
    assert used <= set(read.ids)
    assert not re.search(r"url\((?!#)|@import|https?://(?!www\.w3\.org/2000/svg\")", page)
    page.encode("utf-8")


def test_hostile_names_stay_text() -> None:
    """Markup in names is shown as it was written and never becomes an element."""
    read = Reader(report_html(hostile_plan()))
    text = " ".join(read.words)
    assert "<script>alert" in text
    assert read.tags["script"] == 0
    assert "\udcff" not in text


def test_same_plan_same_page() -> None:
    """Two plans that were made alike give the same page."""
    assert report_html(sample_plan()) == report_html(sample_plan())


def test_title_block_on_every_sheet() -> None:
    """Every sheet carries title, date of issue, identification and its number of so many."""
    plan = sample_plan()
    page = report_html(plan)
    sheets = page.split('<section class="sheet"')[1:]
    for number, sheet in enumerate(sheets, 1):
        assert f"<small>sheet</small>{number} of {len(sheets)}" in sheet
        assert f"<small>identification</small>{plan_hash(plan)[:8]}" in sheet
        assert "<small>date of issue</small>2026-12-01" in sheet
        assert "<b>Shoreline survey glider</b>" in sheet


@pytest.mark.parametrize("make", [sample_plan, crowded_plan, misfit_plan])
def test_nothing_is_lost(make) -> None:
    """Every piece, visit, cost line, spool, assumption, caution and finding stands in the page."""
    plan = make()
    text = " ".join("\n".join(Reader(report_html(plan)).words).split())
    wanted = [p.name for p in plan.pieces] + [line.what for line in plan.cost.lines]
    wanted += [u.spool for u in plan.spools] + list(plan.assumptions) + list(plan.cautions)
    wanted += [f.text.strip() for f in plan.findings] + [s.reason for s in plan.set_aside]
    wanted += [m.proposal for m in plan.misfits]
    wanted += [task for visit in plan.schedule.visits for task in visit.tasks]
    for words in wanted:
        assert " ".join(words.split()) in text, words


def test_unknown_is_never_nought() -> None:
    """Without prices, stations and target the page shows dashes, and says why."""
    text = " ".join(Reader(report_html(bare_plan())).words)
    assert "no target given" in text
    assert "no part or fitting has a station" in text
    assert "14 lines have no price" in text
    assert "Finish: not proved." in text
    assert "0.00 EUR" not in text


def _table(rows: int, tone: str = "") -> Table:
    return Table((Column("a", 50.0),), tuple(Row((f"row {k}",), tone) for k in range(rows)))


def test_long_tables_break_with_all_their_rows() -> None:
    """Rows keep their order over the sheets, none is lost, none stands alone, no sheet is over-full."""
    for rows in range(1, 160, 7):
        sheets = laid_out("t", "q", "s", [Heading("h"), _table(rows)])
        tables = [block for sheet in sheets for block in sheet.blocks if block.kind == "table"]
        assert [row.cells[0] for table in tables for row in table.rows] == [f"row {k}" for k in range(rows)]
        assert rows == 1 or all(len(table.rows) > 1 for table in tables)
        for sheet in sheets:
            assert sum(block.height() for block in sheet.blocks) <= ROOM + 1e-9


def test_group_rows_stay_with_what_follows() -> None:
    """The name of a group is never the last row of a sheet."""
    for before in range(30, 60):
        rows = (*_table(before).rows, Row(("group",), "group"), *_table(9).rows)
        sheets = laid_out("t", "q", "s", [Table((Column("a", 50.0),), rows)])
        for sheet in sheets:
            assert sheet.blocks[-1].rows[-1].tone != "group"


def test_headings_do_not_stand_alone() -> None:
    """A heading is not the last thing on a sheet when something follows."""
    for items in range(30, 70):
        blocks = [Points(tuple("x" for _ in range(items))), Heading("h"), _table(20)]
        for sheet in laid_out("t", "q", "s", blocks):
            assert sheet.blocks[-1].kind != "heading"


FONTS = """<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig><dir>/usr/share/fonts</dir><cachedir>{cache}</cachedir>
<selectfont><rejectfont><pattern/></rejectfont><acceptfont>
<pattern><patelt name="family"><string>{family}</string></patelt></pattern></acceptfont></selectfont>
<match target="pattern">
<edit name="family" mode="assign" binding="strong"><string>{family}</string></edit></match>
</fontconfig>"""
FAMILIES = ("DejaVu Sans", "DejaVu Sans Condensed", "Liberation Sans")


def _printed(html: str, folder: Path, family: str) -> int:
    """Pages of A4 where no other family than this one is there."""
    found = subprocess.run(["fc-list", family], check=True, capture_output=True, text=True).stdout
    if not found.strip():
        pytest.skip(f"no {family} (Debian: apt install fonts-liberation)")
    (folder / "fonts.conf").write_text(FONTS.format(cache=folder / "fonts", family=family), encoding="utf-8")
    (folder / "r.html").write_text(html, encoding="utf-8")
    pdf = folder / "r.pdf"
    subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
         f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={pdf}", (folder / "r.html").as_uri()],
        check=True, capture_output=True, timeout=240,
        env={**os.environ, "FONTCONFIG_FILE": str(folder / "fonts.conf")},
    )  # fmt: skip
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


@pytest.mark.slow
@pytest.mark.skipif(not shutil.which("chromium"), reason="needs the chromium browser")
@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("make", PLANS)
def test_one_printed_page_a_sheet(make, family, tmp_path) -> None:
    """Printed by a real browser, the page has as many A4 pages as it has sheets, whichever face there is."""
    page = report_html(make())
    assert _printed(page, tmp_path, family) == page.count('<section class="sheet"')


def test_chapters_share_sheets() -> None:
    """What leaves a sheet nearly empty is followed by the next chapter, and nothing of either is lost."""
    short = [sheets for k in range(5) for sheets in laid_out(f"c{k}", "q", "s", [_table(4)])]
    bound = joined(short)
    assert len(bound) == 1
    assert bound[0].also == ("c1", "c2", "c3", "c4")
    long = [s for k in range(5) for s in laid_out(f"c{k}", "q", "s", [Heading("h"), _table(53)])]
    bound = joined(long)
    assert len(bound) < len(long)
    rows = [r.cells[0] for s in bound for b in s.blocks if b.kind == "table" for r in b.rows]
    assert rows == [f"row {k}" for k in range(53)] * 5
    for sheet in bound:
        assert sum(block.height() for block in sheet.blocks) <= ROOM + 1e-9


def test_beds_lie_two_to_a_sheet() -> None:
    """Five beds of a small plan need three sheets at most, all to one scale; the visits come before them."""
    look = Lookup(sample_plan())
    sheets = bed_part_sheets(look)
    beds = [b.words for s in sheets for b in s.blocks if b.kind == "bed"]
    assert beds == [batch.name for batch in look.batches_in_run_order]
    assert len(sheets) <= 3
    assert len({s.scale for s in sheets}) == 1
    assert "Visits" in [b.words for s in bench_sheets(look) for b in s.blocks if b.kind == "heading"]


def _seven_beds() -> Lookup:
    """Beds as full as those of a real build: up to 14 pieces, square and round, with findings to watch."""
    plan = crowded_plan(7, 14)
    batches = tuple(
        replace(b, placed=b.placed[: (14, 11, 3, 11, 1, 4, 14)[k]]) for k, b in enumerate(plan.batches)
    )
    parts = [look_part(plan, b.placed[0].piece) for b in batches]
    sagging = "look down flatter than 40\u00b0 from 44.0 mm up, and the recipe has no support: it may sag"
    told = tuple(Finding(part, f"{area} cm\u00b2 {sagging}.") for part in parts for area in ("5.1", "2.8"))
    return Lookup(replace(plan, batches=batches, findings=told))


def look_part(plan, piece: str) -> str:
    """The part that a piece is a copy of."""
    return next(p.part for p in plan.pieces if p.name == piece)


def test_seven_full_beds_take_four_sheets() -> None:
    """Two to a sheet with lists and findings, the legend beside or below the drawing, all of it told."""
    look = _seven_beds()
    sheets = bed_part_sheets(look)
    assert len(sheets) <= 4
    parts = [b for s in sheets for b in s.blocks if b.kind == "bed"]
    assert [p.words for p in parts] == [b.name for b in look.batches_in_run_order]
    for part, batch in zip(parts, look.batches_in_run_order, strict=True):
        assert [row.cells[1] for row in part.table.rows] == [r.piece for r in pieces_of(look, batch)]
        drawn = part.figure.svg + (part.legend.svg if part.legend else "")
        for section in {look.section(p.piece) for p in batch.placed} - {""}:
            assert section in drawn
    for sheet in sheets:
        assert sum(block.height() for block in sheet.blocks) <= ROOM + 1e-9


def test_pieces_are_labelled_in_letters_of_two_millimetres() -> None:
    """Every piece has its number on its drawing, 2 mm tall or more, and its name in the list beside it."""
    for look in (Lookup(sample_plan()), _seven_beds()):
        for sheet in bed_part_sheets(look):
            for part in (b for b in sheet.blocks if b.kind == "bed"):
                told = re.findall(r'font-size="([\d.]+)"[^>]*>(\d+)(?:  [^<]*)?</text>', part.figure.svg)
                big = {number for size, number in told if float(size) >= 2.0}
                assert {row.cells[0] for row in part.table.rows} <= big
                assert 'viewBox="0 0' in part.figure.svg
    assert SMALL_TYPE >= 2.0


def test_timetable_with_its_visits_is_one_sheet() -> None:
    """Ten beds and four visits of up to twenty tasks, with the notes of four filaments: one sheet."""
    plan = sample_plan()
    task = "watch the first layers of bed {} for 5 min"
    visits = tuple(
        replace(plan.schedule.visits[0], at=plan.start + timedelta(hours=6 * k), tasks=tuple(
            task.format(10 * k + n) for n in range(tasks)))
        for k, tasks in enumerate((10, 19, 7, 3))
    )  # fmt: skip
    sheets = bench_sheets(Lookup(replace(plan, schedule=replace(plan.schedule, visits=visits))))
    assert len(sheets) == 1
    ticked = "<br>".join(
        cell for b in sheets[0].blocks if b.kind == "table" for row in b.rows for cell in row.cells[2:]
    )
    assert ticked.count('class="box"') == 39


def test_visits_stand_on_the_sheet_when_all_is_printed() -> None:
    """Nothing runs any more, a bed is still to be cleared: the sheet has the visit as the plan has it."""
    plan = sample_plan()
    visit = replace(plan.schedule.visits[0], tasks=("clear bed 1 from desk 1",))
    done = replace(plan, schedule=replace(plan.schedule, runs=(), visits=(visit,)))
    told = str([sheet.blocks for sheet in bench_sheets(Lookup(done))])
    assert "clear bed 1 from desk 1" in told


def test_widths_hold_for_narrow_and_wide_faces() -> None:
    """No letter is measured narrower than Helvetica or DejaVu Sans sets it."""
    # Source: Adobe Core 14 font metrics (W, m, i, 0) and DejaVu Sans 2.37 (W, m, i, 0), 1/1000 em
    for letter, helvetica, dejavu in (("W", 944, 989), ("m", 833, 974), ("i", 222, 278), ("0", 556, 636)):
        assert text_width(letter, 1.0) * 1000 >= max(helvetica, dejavu)
