"""Tables for other programs: comma-separated text and the workbook."""

import csv
import io
from dataclasses import replace
from decimal import Decimal

import openpyxl
import pytest

from planner.model.airframe import Fitting
from planner.report.exports.plan_json import plan_record
from planner.report.exports.tables import cost_sheet_csv, cost_sheet_xlsx, parts_csv, spools_csv
from planner.report.lookup import Lookup
from planner.report.plain import clean, file_name, sheet_text
from planner.report.sheets.cost_sheet import cost_sheets
from planner.report.sheets.parts_sheet import parts_sheets
from planner.report.words import UNKNOWN
from tests.plan_edges import HOSTILE, bare_plan, crowded_plan, empty_plan, hostile_plan
from tests.plan_samples import sample_plan

PLANS = [sample_plan, hostile_plan, empty_plan, bare_plan, crowded_plan]
TABLES = [cost_sheet_csv, parts_csv, spools_csv]


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.mark.parametrize("make", PLANS)
@pytest.mark.parametrize("table", TABLES)
def test_rows_end_in_cr_lf_and_have_the_same_cells(make, table) -> None:
    """Every row is ended by CR LF and has as many cells as the head (RFC 4180, section 2)."""
    text = table(make())
    assert text.endswith("\r\n")
    assert text.count("\n") == text.count("\r\n")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert {len(row) for row in rows} == {len(rows[0])}
    text.encode("utf-8")


@pytest.mark.parametrize("table", TABLES)
def test_names_stay_text(table) -> None:
    """No cell that a program would take for a formula, whatever the names begin with."""
    plan = hostile_plan()
    for row in csv.reader(io.StringIO(table(plan), newline="")):
        for cell in row:
            assert not cell.startswith(("=", "+", "@", "\t", "\r", "\n")), cell
            if cell.startswith("-"):
                float(cell)


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "\tx", "\rx", "\nx"])
def test_leading_signs_get_an_apostrophe(name) -> None:
    """Each of the signs that begin a formula is guarded; plain names are left alone."""
    assert sheet_text(name) == f"'{name}"
    assert sheet_text(f"a{name}") == f"a{name}"


def test_cost_lines_add_up() -> None:
    """Amounts of the lines are the totals by kind, and those the total, to the cent."""
    rows = _rows(cost_sheet_csv(sample_plan()))
    lines = [r for r in rows if r["in_total"] == "yes"]
    kinds = {r["kind"]: Decimal(r["amount"]) for r in rows if r["what"].startswith("total ")}
    for kind, total in kinds.items():
        assert sum(Decimal(r["amount"] or 0) for r in lines if r["kind"] == kind) == total
    (total,) = (r for r in rows if r["what"] == "total")
    assert Decimal(total["amount"]) == sum(kinds.values())
    assert "machine wear" in total["source"]


def test_unknown_money_is_an_empty_cell() -> None:
    """A price that nobody gave is empty, not nought."""
    rows = _rows(cost_sheet_csv(sample_plan()))
    wear = next(r for r in rows if r["what"] == "machine wear")
    assert (wear["unit_price"], wear["amount"]) == ("", "")


def test_spools_balance() -> None:
    """Before = used + purged + left, in every row."""
    for row in _rows(spools_csv(sample_plan())):
        parts = sum(float(row[key]) for key in ("grams_used", "grams_purged", "grams_left"))
        assert float(row["grams_before"]) == pytest.approx(parts, abs=0.002)


@pytest.mark.parametrize("make", PLANS)
def test_workbook_opens_and_is_repeatable(make) -> None:
    """openpyxl reads both sheets; two writings of one plan have the same bytes."""
    data = cost_sheet_xlsx(make())
    assert data == cost_sheet_xlsx(make())
    assert openpyxl.load_workbook(io.BytesIO(data)).sheetnames == ["Cost", "Shopping"]


def _column(sheet, letter):
    return [cell.value for cell in sheet[letter]]


def test_workbook_totals_are_formulas_that_carry_their_value() -> None:
    """A reader that computes nothing sees the same total as one that does."""
    data = cost_sheet_xlsx(sample_plan())
    formulas = openpyxl.load_workbook(io.BytesIO(data))["Cost"]
    values = openpyxl.load_workbook(io.BytesIO(data), data_only=True)["Cost"]
    (total,) = (c.row for c in formulas["B"] if c.value == "Total")
    lines = {row: values[f"F{row}"].value or 0 for row in range(4, 19)}
    assert formulas[f"F{total}"].value == f"=SUM($F$20:$F${total - 1})"
    assert values[f"F{total}"].value == pytest.approx(131.65)
    kinds = {row: values[f"A{row}"].value for row in lines}
    for row in [*range(20, total), total + 3]:
        own = sum(v for r, v in lines.items() if kinds[r] == values[f"A{row}"].value)
        assert values[f"F{row}"].value == pytest.approx(own, abs=1e-9)
    inside = sum(v for r, v in lines.items() if kinds[r] != "spools to buy")
    assert values[f"F{total}"].value == pytest.approx(inside, abs=1e-9)
    assert formulas["F4"].number_format == "#,##0.00"


def test_workbook_text_is_text() -> None:
    """A name that begins with an equals sign is no formula in the workbook."""
    sheet = openpyxl.load_workbook(io.BytesIO(cost_sheet_xlsx(hostile_plan())))["Cost"]
    cell = sheet["B4"]
    assert cell.value == HOSTILE
    assert cell.data_type == "s"


def test_one_shopping_list_in_workbook_and_report() -> None:
    """Spools and chosen fittings, with the same numbers, prices and total in both."""
    plan = sample_plan()
    optional = Fitting("skid spring", 3.0, 2, 10.0, 150, option=("landing", "wheel"))
    plan = replace(plan, airframe=replace(plan.airframe, fittings=(*plan.airframe.fittings, optional)))
    book = openpyxl.load_workbook(io.BytesIO(cost_sheet_xlsx(plan)), data_only=True)["Shopping"]
    told = [[c.value for c in row] for row in book.iter_rows(min_row=4)]
    assert told[0] == ["foaming PLA, spool of 750 g", "filament", 1, 34.9, 34.9]
    assert ["servo 9 g", "fitting", 4, 6.9, 27.6] in told
    assert "skid spring" not in {row[0] for row in told}
    assert told[-1][4] == pytest.approx(sum(row[4] or 0.0 for row in told[:-1]))
    assert "receiver" in book["A2"].value
    tables = [
        block
        for sheet in cost_sheets(Lookup(plan))
        for block in sheet.blocks
        if block.kind == "table" and block.columns[2].head == "how many"
    ]
    shown = [row.cells for table in tables for row in table.rows]

    def number(cell: str) -> float | None:
        return None if cell == UNKNOWN else float(cell.replace(" ", ""))

    lines = [[cells[1], int(cells[2]), *map(number, cells[3:])] for cells in shown[:-1]]
    assert lines == [[row[0], *row[2:]] for row in told[:-1]]
    assert number(shown[-1][4]) == pytest.approx(told[-1][4])


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("bed 1", "bed_1"),
        ("../../etc/passwd", "etc_passwd"),
        ("", "bed"),
        ("...", "bed"),
        ("a" * 99, "a" * 48),
        ("\u00e9\U0001f6e9", "bed"),
        ("CON:|?", "CON"),
        ("x\\y/z", "x_y_z"),
    ],
)
def test_file_names(name, safe) -> None:
    """File names keep to ASCII letters and never leave the folder."""
    assert file_name(name, "bed") == safe


def test_clean_text_can_be_written() -> None:
    """Lone surrogates and control characters, as broken file names bring them, become U+FFFD."""
    assert clean("a\udcff\x00b\x0b\ufffe") == "a\ufffd\ufffdb\ufffd\ufffd"
    assert clean("\u00e9 \U0001f6e9\n") == "\u00e9 \U0001f6e9\n"


def test_twins_show_equal_minutes_whatever_they_are_printed_on() -> None:
    """Nine of twenty pieces lie on the small printer: the table is timed on it, whoever prints what.

    A printer that may not run a part's filament does not time it, and a printer's own factor counts.
    """
    plan = sample_plan()
    assert {row["timed_on"] for row in _rows(parts_csv(plan))} == {"small 220"}
    own = {row["part"]: float(row["minutes"]) for row in _rows(parts_csv(plan))}
    large, small, *rest = plan.workshop.printers
    bound = replace(small, filaments=("PLA", "ASA"), minutes_factor=1.5)
    shop = replace(plan.workshop, printers=(large, bound, *rest))
    told = _rows(parts_csv(replace(plan, workshop=shop)))
    kinds = {row["filament"]: row["timed_on"] for row in told}
    assert kinds == {"PLA": "small 220", "ASA": "small 220", "foaming PLA": "round 240", "TPU": "round 240"}
    for row in told:
        if row["timed_on"] == "small 220":
            assert float(row["minutes"]) == pytest.approx(1.5 * own[row["part"]], abs=0.01)
    sheet = str([s.blocks for s in parts_sheets(Lookup(plan))])
    assert "All parts are timed on &#39;small 220&#39;" in sheet or "timed on 'small 220'" in sheet


def test_grams_and_minutes_of_support_are_told_apart() -> None:
    """In the table, in plan.json and on the parts sheet, with the printer's own factor; else none."""
    plan = sample_plan()
    name = plan.parts[0].name
    deposit = plan.deposits[name]
    layers = deposit.layers
    quarter = replace(layers, support_mm3=layers.volume_mm3 / 3.0)
    kinds = dict.fromkeys(deposit.seconds, 600.0)
    held = replace(deposit, layers=quarter, support_s=kinds)
    shop = replace(
        plan.workshop, printers=tuple(replace(p, minutes_factor=1.5) for p in plan.workshop.printers)
    )
    plan = replace(plan, workshop=shop, deposits={**plan.deposits, name: held})
    told = {row["part"]: row for row in _rows(parts_csv(plan))}
    assert float(told[name]["support_g"]) == pytest.approx(held.mass_g / 4.0, abs=1e-3)
    assert float(told[name]["support_minutes"]) == 15.0
    other = told[plan.parts[1].name]
    assert (float(other["support_g"]), float(other["support_minutes"])) == (0.0, 0.0)
    part = plan_record(plan)["parts"][0]
    assert part["support_g"] == pytest.approx(held.mass_g / 4.0, abs=1e-3)
    assert part["support_minutes"] == 15.0
    sheet = str([s.blocks for s in parts_sheets(Lookup(plan))])
    assert sheet.count("of it is support, broken off") == 1
    assert "g and 0 h 15 of it is support" in sheet
