"""Sheets of the report by themselves: what stands on them, in which order, and names that stay text."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from lxml import etree, html

from planner.model.goal import Goal
from planner.model.schedule import SpoolUse
from planner.report.layout.blocks import (
    AnswerRow,
    Columns,
    Drawn,
    Facts,
    Figure,
    Heading,
    Points,
    Table,
    Words,
)
from planner.report.layout.sheets import ROOM, Sheet
from planner.report.lookup import Lookup
from planner.report.sheets import spools_sheet
from planner.report.sheets.answers_sheet import _few, answers_sheets
from planner.report.sheets.beds_sheet import bed_sheets, sheets_of
from planner.report.sheets.notes_sheet import MODEL, notes_sheets
from planner.report.sheets.spools_sheet import spool_sheets
from planner.report.sheets.tradeoff_sheet import tradeoff_html
from planner.report.text.goals import goal_blocks
from planner.tradeoffs.single_changes import SingleChange
from planner.tradeoffs.study import Study, Wishes
from tests.plan_edges import HOSTILE, bare_plan, crowded_plan, empty_plan, hostile_plan, misfit_plan
from tests.plan_samples import sample_plan

PLANS = [sample_plan, hostile_plan, empty_plan, bare_plan, misfit_plan, lambda: crowded_plan(beds=4)]


def _blocks(sheets: list[Sheet], kind: type) -> list[Any]:
    return [block for sheet in sheets for block in sheet.blocks if isinstance(block, kind)]


def _after(sheets: list[Sheet], words: str) -> Any:
    """The block under a heading."""
    blocks = [block for sheet in sheets for block in sheet.blocks]
    (at,) = [n for n, block in enumerate(blocks) if isinstance(block, Heading) and block.words == words]
    return blocks[at + 1]


def _text(cell: Any) -> str:
    return str(cell.svg if isinstance(cell, Drawn) else cell)


@pytest.mark.parametrize("make", PLANS)
@pytest.mark.parametrize("sheets", [answers_sheets, bed_sheets, notes_sheets, spool_sheets])
def test_no_sheet_is_fuller_than_its_paper(make: Any, sheets: Any) -> None:
    for sheet in sheets(Lookup(make())):
        assert sum(block.height() for block in sheet.blocks) <= ROOM + 1e-6, sheet.name


@pytest.mark.parametrize("sheets", [answers_sheets, bed_sheets, notes_sheets, spool_sheets])
def test_markup_of_a_name_is_text(sheets: Any) -> None:
    """What is vouched for as markup holds no element of a name."""
    for sheet in sheets(Lookup(hostile_plan())):
        for block in sheet.blocks:
            cells = [cell for row in getattr(block, "rows", ()) for cell in row.cells]
            cells += [value for _, value in getattr(block, "pairs", ())] + [getattr(block, "words", "")]
            cells += [one.svg for one in (block, getattr(block, "figure", None)) if isinstance(one, Figure)]
            for cell in (one.svg if isinstance(one, Drawn) else one for one in cells):
                if hasattr(cell, "__html__"):
                    assert "<script>" not in cell


def test_the_first_sheet_answers_and_tells_what_it_rests_on() -> None:
    """Decisions at the left, assumptions at the right; letters and hatches have their keys."""
    look = Lookup(sample_plan())
    (sheet,) = answers_sheets(look)
    lead, keys = _blocks([sheet], Words)
    assert lead.words.endswith(
        " Assumed first of all: Glue is taken as 5 % of the printed mass (common practice, no source)."
    )
    labels = [one.label for one in _blocks([sheet], AnswerRow)]
    assert {"Fits", "Finished", "Weighs", "Balances"} <= set(labels)
    drawn = {one.label for one in _blocks([sheet], AnswerRow) if one.figure is not None}
    assert drawn == {"Finished", "Weighs", "Balances"}
    (columns,) = _blocks([sheet], Columns)
    assert columns.left[0].words == "Wants a decision"
    assert columns.right[1].items[0] == look.plan.assumptions[0]
    tree = html.fragment_fromstring(str(keys.words), create_parent="p")
    assert [b.text for b in tree.findall(".//b")] == list(look.letter.values())
    fields = [
        r.get("fill")[5:-1] for r in tree.findall(".//rect") if (r.get("fill") or "").startswith("url(")
    ]
    assert len(fields) == len(look.sections)
    assert set(fields) == {p.get("id") for p in tree.findall(".//pattern")}


def test_nothing_to_decide_is_said() -> None:
    plan = sample_plan()
    clear = {name: replace(one, findings=()) for name, one in plan.deposits.items()}
    plan = replace(plan, findings=(), set_aside=(), assumptions=(), deposits=clear)
    (columns,) = _blocks(answers_sheets(Lookup(plan)), Columns)
    assert columns.left[1].words == "nothing: print as planned"
    assert columns.right[1].words == "no assumption: all was given"


def test_what_has_no_room_is_counted() -> None:
    """Every item is either there or in the count; a long one is cut to three lines."""
    items = [f"item {n}" for n in range(40)]
    shown = _few(items, 60.0, "act", "none")
    assert isinstance(shown, Points)
    *taken, last = shown.items
    assert taken == items[: len(taken)]
    assert last == f"and {40 - len(taken)} more: see Notes"
    assert 0 < len(taken) < 40
    assert _few(items[:3], 200.0, "act", "none").items == tuple(items[:3])  # type: ignore[union-attr]
    (long,) = _few(["word " * 200], 200.0, "act", "none").items  # type: ignore[union-attr]
    assert long.endswith(" \u2026")
    assert len(long) < 400


def test_every_bed_has_its_sheet_in_the_order_of_running() -> None:
    """Each with its drawing in its scale, its facts and its pieces by their number."""
    look = Lookup(sample_plan())
    made = bed_sheets(look)
    assert [sheet.name for sheet in made] == [f"Bed plan: bed {n}" for n in (2, 1, 3, 4, 5)]
    for sheet in made:
        assert sheet.scale.startswith("1:")
        (table,) = _blocks([sheet], Table)
        assert [row.cells[0] for row in table.rows] == [str(n) for n in range(1, len(table.rows) + 1)]
        assert len(table.rows) == len(look.batch[sheet.name.removeprefix("Bed plan: ")].placed)
    rows = {row.cells[1]: row.cells for row in _blocks(made[1:2], Table)[0].rows}
    assert rows["wing mid R"][2:5] == ("right wing", "90\u00b0 mirrored", "172.0")
    facts = dict(_blocks(made[:1], Facts)[0].pairs)
    assert facts["filament"].endswith("</b> PLA")


def test_many_pieces_stand_in_two_columns_and_none_is_lost() -> None:
    """Down the left column first; the odd one leaves an empty place."""
    plan = crowded_plan(beds=1, each=25)
    look = Lookup(plan)
    made = sheets_of(look, plan.batches[0], "x")
    rows = [row.cells for table in _blocks(made, Table) for row in table.rows]
    numbers = [row[0] for row in rows] + [row[6] for row in rows]
    assert numbers == [str(n) for n in range(1, 26)] + [""]
    names = [row[1] for row in rows] + [row[7] for row in rows if row[7]]
    assert sorted(names) == sorted(placed.piece for placed in plan.batches[0].placed)
    assert [sheet.scale for sheet in made] == ["1:2", ""]
    fewer = crowded_plan(beds=1, each=18)
    one = sheets_of(Lookup(fewer), fewer.batches[0], "x")
    assert [sheet.scale for sheet in one] == ["1:3"]  # drawn smaller rather than on a second sheet


def test_notes_say_what_the_numbers_rest_on_and_cautions_come_last() -> None:
    look = Lookup(misfit_plan())
    made = notes_sheets(look)
    heads = [block.words for block in _blocks(made, Heading)]
    assert heads == list(dict.fromkeys(heads))
    assert heads[0] == "Fits no bed"
    assert heads[-1] == "Cautions"
    assert _after(made, "How the numbers are made").items == MODEL
    assert _after(made, "Set aside").rows[0].cells[0] == "old/nose_v1.stl"
    tones = {row.cells[0]: row.tone for row in _after(made, "Findings").rows}
    assert tones["hinge plate"] == "act"
    assert tones["wing tip"] == tones["horn"] == ""
    last = made[-1].blocks[-1]
    same = "the same inputs, seed and start give the same plan"
    assert last.words == f"Made with seed 1 and effort normal; {same}. 13 parts, 21 pieces."
    cautions = [item for block in _blocks(made, Points) if block.mark == "act" for item in block.items]
    assert tuple(cautions) == look.plan.cautions


def test_what_is_proved_and_what_is_not() -> None:
    """A bound tells both times; without one it says so. Strength is never proved."""
    plan = sample_plan()
    schedule = replace(plan.schedule, lower_bound_h=10.0, makespan_h=12.5)
    proved = _after(notes_sheets(Lookup(replace(plan, schedule=schedule))), "Proved, and not proved").items
    assert "no timetable ends before 10 h 00 after the start; this one takes 12 h 30." in proved[0]
    open_ = _after(notes_sheets(Lookup(bare_plan())), "Proved, and not proved").items
    assert open_[0] == "Finish: not proved. Another timetable may end sooner."
    assert proved[1:] == open_[1:]
    assert any("no proof of airworthiness" in one for one in proved)


def test_values_of_one_source_share_a_row() -> None:
    """Filaments that are used only; what nobody named a source for says so."""
    plan = sample_plan()
    shop = plan.workshop
    filaments = tuple(
        replace(f, source="handbook", foam_source="bench" if f.foaming else "") for f in shop.filaments
    )
    idle = replace(filaments[0], name="idle", source="nowhere")
    look = Lookup(replace(plan, workshop=replace(shop, filaments=(*filaments, idle))))
    rows = {
        _text(row.cells[1]): _text(row.cells[0])
        for row in _after(notes_sheets(look), "Sources of the values").rows
    }
    assert rows["handbook"] == "filament foaming PLA, filament PLA, filament ASA, filament TPU"
    assert rows["bench"] == "foaming of foaming PLA"
    assert "nowhere" not in rows
    everything = ", ".join(rows.values())
    assert all(f"printer {p.name} ({p.kind})" in everything for p in shop.printers)


def test_spools_and_the_sums_of_a_filament() -> None:
    """Two spools of PLA are 740 g together; one spool has no sum. A new one is marked, an idle one quiet."""
    look = Lookup(sample_plan())
    made = spool_sheets(look)
    rows = {_text(row.cells[0]): row for row in _blocks(made, Table)[0].rows}
    sums = [row for row in _blocks(made, Table)[0].rows if row.tone == "sum"]
    assert [_text(row.cells[1]).split("</b> ")[1] for row in sums] == ["foaming PLA", "PLA"]
    assert sums[1].cells[3] == "740"
    assert rows["spool 3"].cells[7] == "1"
    assert rows["spool 7"].tone == "quiet"
    assert rows["spool 3"].tone == ""
    assert any('<span class="flag">to buy</span>' in name for name in rows)
    buy = _after(made, "Spools to buy")
    assert [_text(cell) for cell in buy.rows[0].cells[1:]] == ["750", "1", "34.90 EUR", "34.90 EUR"]
    assert len(buy.rows) == 1  # one kind needs no sum


def test_several_kinds_to_buy_are_added_as_far_as_prices_are_known() -> None:
    plan = sample_plan()
    more = (
        SpoolUse("n2", "foaming PLA", True, 750.0, 1.0, 0.0, 749.0, 3490),
        SpoolUse("n3", "PLA", True, 1000.0, 1.0, 0.0, 999.0, 2190),
        SpoolUse("n4", "TPU", True, 500.0, 1.0, 0.0, 499.0, None),
    )
    known, part = (replace(plan, spools=(*plan.spools, *added)) for added in (more[:2], more))
    rows = _after(spool_sheets(Lookup(known)), "Spools to buy").rows
    assert [_text(cell) for cell in rows[-1].cells] == ["together", "", "3", "", "91.70 EUR"]
    assert [_text(cell) for cell in rows[0].cells[2:]] == ["2", "34.90 EUR", "69.80 EUR"]
    last = _after(spool_sheets(Lookup(part)), "Spools to buy").rows[-1]
    assert [_text(cell) for cell in last.cells] == [
        "together, as far as prices are known", "", "4", "", "91.70 EUR"
    ]  # fmt: skip
    none = replace(plan, spools=tuple(use for use in plan.spools if not use.bought))
    assert _after(spool_sheets(Lookup(none)), "Spools to buy").words == "None: the shelf covers all of it."
    (words,) = spool_sheets(Lookup(empty_plan()))[0].blocks
    assert words.words == "No spool is used."


def test_the_bar_of_a_spool_is_to_scale() -> None:
    """Of 1,000 g 250 are used and 100 purged: a quarter black, a tenth grey behind it."""
    use = SpoolUse("s", "PLA", False, 1000.0, 250.0, 100.0, 650.0, None)
    whole, used, purged = etree.fromstring(spools_sheet._bar(use, 2000.0).encode()).findall(".//{*}rect")
    assert [float(one.get("width")) for one in (whole, used, purged)] == [16.5, 4.12, 1.65]
    assert float(purged.get("x")) == pytest.approx(0.2 + 4.125, abs=0.01)
    short = SpoolUse("s", "PLA", False, 10.0, -1.0, -2.0, 13.0, None)
    bars = etree.fromstring(spools_sheet._bar(short, 10.0).encode()).findall(".//{*}rect")
    assert [float(one.get("width")) for one in bars[1:]] == [0.0, 0.0]


def test_goals_in_their_order() -> None:
    """With what each reached; a plan that was searched for none has no table."""
    goals = (Goal("finish", 1, 1.5, "h", "1 h 30"), Goal("visits", 2, 3.0, "", HOSTILE))
    assert goal_blocks(replace(sample_plan(), goals=())) == []
    head, table = goal_blocks(replace(sample_plan(), goals=goals))
    assert isinstance(head, Heading)
    assert head.words == "Goals, the one that counts most first"
    assert isinstance(table, Table)
    assert [row.cells for row in table.rows] == [("1 finish", "1 h 30"), ("2 visits", HOSTILE)]


def _page(study: Study) -> Any:
    text = tradeoff_html(study)
    assert "<script>alert" not in text
    return html.fromstring(text)


def test_a_trade_off_that_is_refused_says_why() -> None:
    """Only the plan as it is stands in the table; a name is text."""
    plan = hostile_plan()
    page = _page(Study(plan, Wishes(mass_g=1.0), {}, (), (), refusal=f"no: {HOSTILE}"))
    assert f"no: {HOSTILE}" in page.text_content()
    assert "with the changes, planned for real" not in page.text_content()
    assert "No single change saves a gram." in page.text_content()


def test_before_and_after_stand_side_by_side() -> None:
    """Grams, balance, hours, finish and money of both plans; changes in their units."""
    plan = sample_plan()
    after = replace(
        plan,
        mass=replace(plan.mass, total_g=801.25),
        balance=replace(plan.balance, station_mm=None),
        cost=replace(plan.cost, total_minor=9950),
    )
    change = SingleChange(("fin", "hatch"), "skin", "thin <b>", 2.5, 90.0, -120, -0.3)
    row: Any = SimpleNamespace(part="fin", name="thin <b>")
    proposal: Any = SimpleNamespace(changed=(row,), moves=(), proved=True, totals=SimpleNamespace(
        mass_g=801.25, minutes=60.0, cost_minor=9950, station_mm=None))  # fmt: skip
    study = Study(
        plan,
        Wishes(mass_g=810.0),
        {"fin": ("skin", "thin <b>")},
        (change,),
        (),
        proposal=proposal,
        after=after,
    )
    page = _page(study)
    cells = [[c.text_content().strip() for c in r.xpath("./td|./th")] for r in page.xpath("//table//tr")]
    both = [row for row in cells if row and row[0] in ("as planned", "with the changes, planned for real")]
    assert [row[0] for row in both] == ["as planned", "with the changes, planned for real"]
    assert both[1][1] == "801"
    assert both[1][5] == "99.50 EUR"
    assert both[0][2] == f"{plan.balance.station_mm:.1f}"
    assert both[1][2] != both[0][2]
    assert ["fin", "skin", "thin <b>"] in cells
    assert ["fin and hatch", "thin <b>", "2.5", "+1.5", "-1.20", "-0.3"] in cells
