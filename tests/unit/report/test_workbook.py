"""The workbook, read by openpyxl: every formula gives the value that it carries, by a reckoner of its own."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

import openpyxl
import pytest

from planner.model.airframe import Fitting
from planner.report.exports.workbook import cost_sheet_xlsx
from planner.report.shopping import shopping_list
from tests.plan_edges import HOSTILE, bare_plan, empty_plan, hostile_plan
from tests.plan_samples import sample_plan


def _books(plan: Any) -> tuple[Any, Any]:
    """The workbook with formulas, and with the values that they carry."""
    data = cost_sheet_xlsx(plan)
    return openpyxl.load_workbook(io.BytesIO(data)), openpyxl.load_workbook(io.BytesIO(data), data_only=True)


def _range(text: str) -> tuple[str, int, int]:
    column, first, last = re.fullmatch(r"\$?([A-Z])\$?(\d+):\$?[A-Z]\$?(\d+)", text).groups()  # type: ignore[union-attr]
    return column, int(first), int(last)


def reckoned(sheet: Any, formula: str) -> float:
    """The three kinds of formulas that the workbook has (Source: ISO/IEC 29500-1, 18.17.7)."""
    if found := re.fullmatch(r"=SUMIF\((.+),([A-Z]\d+),(.+)\)", formula):
        (keys, first, last), (sums, low, high) = _range(found[1]), _range(found[3])
        assert (first, last) == (low, high)
        wanted = sheet[found[2]].value
        rows = [n for n in range(first, last + 1) if sheet[f"{keys}{n}"].value == wanted]
        return sum(float(sheet[f"{sums}{n}"].value or 0.0) for n in rows)
    if found := re.fullmatch(r"=SUM\((.+)\)", formula):
        column, first, last = _range(found[1])
        return sum(float(sheet[f"{column}{n}"].value or 0.0) for n in range(first, last + 1))
    found = re.fullmatch(r"=([A-Z]\d+)\*([A-Z]\d+)", formula)
    assert found is not None, formula
    return float(sheet[found[1]].value) * float(sheet[found[2]].value)


SECTIONS = {"left wing": 1234, HOSTILE: 5, "": 61}


def _with_sections() -> Any:
    plan = sample_plan()
    return replace(plan, cost=replace(plan.cost, by_section_minor=SECTIONS))


@pytest.mark.parametrize("make", [sample_plan, hostile_plan, empty_plan, bare_plan, _with_sections])
def test_every_formula_gives_the_value_that_it_carries(make: Any) -> None:
    """Programs that do not reckon show the same as those that do."""
    formulas, carried = _books(make())
    seen = 0
    for sheet in formulas:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    seen += 1
                    value = carried[sheet.title][cell.coordinate].value
                    assert reckoned(carried[sheet.title], cell.value) == pytest.approx(value, abs=1e-9)
    assert seen or make in (empty_plan, bare_plan)


def test_lines_stand_in_their_columns() -> None:
    """Numbers as numbers, what is not known empty, and every line once in its order."""
    plan = sample_plan()
    sheet = _books(plan)[1]["Cost"]
    assert [cell.value for cell in sheet[3]] == [
        "Kind", "What", "Quantity", "Unit", "Unit price", "Amount", "Source"
    ]  # fmt: skip
    for n, line in enumerate(plan.cost.lines, 4):
        kind, what, quantity, unit, price, amount, source = (cell.value for cell in sheet[n])
        assert (kind, what, unit, source) == (line.kind, line.what, line.unit, line.source)
        assert Decimal(str(quantity)) == line.quantity
        assert price == (None if line.unit_price is None else pytest.approx(float(line.unit_price)))
        assert amount == (None if line.amount_minor is None else line.amount_minor / 100)
    assert sheet["A1"].value == "Cost sheet: Shoreline survey glider"
    assert sheet["A2"].value == (
        "Amounts in EUR. Left out, without a price: TPU, by the gram; machine wear; receiver."
    )


def test_sums_by_kind_then_the_total_and_what_is_apart() -> None:
    """The total has every kind once; spools to buy stand under it and are not in it."""
    plan = sample_plan()
    sheet = _books(plan)[1]["Cost"]
    below = range(4 + len(plan.cost.lines), sheet.max_row + 1)
    of_kind = [n for n in below if sheet[f"B{n}"].value == "sum of this kind"]
    rows = {sheet[f"A{n}"].value: sheet[f"F{n}"].value for n in of_kind}
    assert rows.pop("spools to buy") == 34.90
    assert rows == {kind: minor / 100 for kind, minor in plan.cost.totals_minor.items()}
    (total,) = [n for n in range(1, sheet.max_row + 1) if sheet[f"B{n}"].value == "Total"]
    assert sheet[f"F{total}"].value == pytest.approx(sum(rows.values()))
    assert sheet[f"B{total + 2}"].value.startswith("Apart, not in the total")


def test_what_is_to_be_bought() -> None:
    """Whole spools, then fittings; amount is number times price."""
    plan = sample_plan()
    sheet = _books(plan)[1]["Shopping"]
    rows = [[cell.value for cell in sheet[n]] for n in range(4, 4 + len(shopping_list(plan)))]
    assert rows[0] == ["foaming PLA, spool of 750 g", "filament", 1, 34.90, 34.90]
    assert ["servo 9 g", "fitting", 4, 6.90, 27.60] in rows
    assert ["receiver", "fitting", 1, None, None] in rows
    assert sheet[f"E{4 + len(rows)}"].value == pytest.approx(
        34.90 + 14.50 + 16.90 + 27.60 + 24.90 + 28.90 + 4.80
    )
    assert sheet["A2"].value.endswith("Left out of the total, without a price: receiver.")


def test_nothing_to_buy_is_a_total_of_nought() -> None:
    plan = sample_plan()
    shelf = tuple(use for use in plan.spools if not use.bought)
    sheet = _books(replace(plan, spools=shelf, airframe=replace(plan.airframe, fittings=())))[0]["Shopping"]
    assert (sheet["A4"].value, sheet["E4"].value) == ("Total", 0)
    assert sheet["A2"].value.endswith("All have a price.")


def test_cost_by_section_only_where_it_is_known() -> None:
    """What belongs to no section says so."""
    assert "By section" not in _books(sample_plan())[0].sheetnames
    sheet = _books(_with_sections())[1]["By section"]
    assert [[cell.value for cell in row] for row in sheet["A4:B7"]] == [
        ["left wing", 12.34], [HOSTILE, 0.05], ["no section", 0.61], ["Total", 13.00]
    ]  # fmt: skip


def test_a_currency_without_small_coins() -> None:
    """Amounts are whole, and so is their format."""
    plan = sample_plan()
    yen = replace(
        plan, cost=replace(plan.cost, currency="JPY"), workshop=replace(plan.workshop, currency="JPY")
    )
    formulas, carried = _books(yen)
    (n,) = [k for k, line in enumerate(plan.cost.lines, 4) if line.what == "servo 9 g"]
    assert carried["Cost"][f"F{n}"].value == 2760
    assert formulas["Cost"][f"F{n}"].number_format == "#,##0"
    assert _books(plan)[0]["Cost"][f"F{n}"].number_format == "#,##0.00"


def test_names_are_text_and_the_same_plan_the_same_bytes() -> None:
    """No name becomes a formula or a link."""
    plan = sample_plan()
    name = '=HYPERLINK("http://x")'
    fittings = (Fitting(name, 1.0, 1, None, 100), Fitting("http://example.org", 1.0, 1, None, 100))
    book = _books(replace(plan, airframe=replace(plan.airframe, fittings=fittings, name="=1+1")))[0]
    cells = {cell.value: cell for row in book["Shopping"].iter_rows() for cell in row if cell.value}
    assert cells[name].data_type == "s"
    assert cells["http://example.org"].hyperlink is None
    assert book["Cost"]["A1"].data_type == "s"
    assert cost_sheet_xlsx(plan) == cost_sheet_xlsx(sample_plan())
