"""The report page: self-contained, escaped, complete, one printed page a sheet."""

import re
import shutil
import subprocess
from collections import Counter
from html.parser import HTMLParser

import pytest

from planner.report.blocks import Column, Heading, Points, Row, Table
from planner.report.page import report_html
from planner.report.plan_json import plan_hash
from planner.report.sheets import ROOM, laid_out
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


@pytest.mark.slow
@pytest.mark.skipif(not shutil.which("chromium"), reason="needs the chromium browser")
@pytest.mark.parametrize("make", PLANS)
def test_one_printed_page_a_sheet(make, tmp_path) -> None:
    """Printed by a real browser, the page has as many A4 pages as it has sheets."""
    page = report_html(make())
    (tmp_path / "r.html").write_text(page, encoding="utf-8")
    pdf = tmp_path / "r.pdf"
    subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
         f"--user-data-dir={tmp_path / 'profile'}", f"--print-to-pdf={pdf}", (tmp_path / "r.html").as_uri()],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    pages = len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))
    assert pages == page.count('<section class="sheet"')
