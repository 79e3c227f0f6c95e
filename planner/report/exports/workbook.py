"""The cost sheet as an Office Open XML workbook (ISO/IEC 29500)."""

from __future__ import annotations

import io
from datetime import UTC
from typing import Any

from planner.model.plan import Plan
from planner.report.plain import clean
from planner.report.shopping import shopping_list, total_minor, without_price
from planner.report.words import local
from planner.units import minor_digits, money_text

_HEAD = ("Kind", "What", "Quantity", "Unit", "Unit price", "Amount", "Source")
_BUY_HEAD = ("What", "Kind", "How many", "Price of one", "Amount")
_WIDTHS = (12, 40, 12, 8, 14, 14, 44)
_FIRST_ROW = 3  # rows count from 0: title, note, head


def cost_sheet_xlsx(plan: Plan) -> bytes:
    """Sheets "Cost", "Shopping" and "By section": typed cells, totals as formulas that carry their value.

    The same plan gives the same bytes: the date of creation is the start of the plan. Text is
    written as text, so that a name that begins with ``=`` stays a name.
    """
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(
        out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    book.set_properties(
        {
            "title": clean(f"Cost sheet: {plan.airframe.name}")[:255],
            "author": "planner",
            "created": local(plan.start, plan).astimezone(UTC).replace(tzinfo=None),
        }
    )
    digits = minor_digits(plan.cost.currency)
    form = {
        "title": book.add_format({"bold": True, "font_size": 14}),
        "head": book.add_format({"bold": True, "bottom": 1, "text_wrap": True}),
        "money": book.add_format({"num_format": "#,##0" + ("." + "0" * digits if digits else "")}),
        "price": book.add_format({"num_format": "#,##0.00####"}),
        "number": book.add_format({"num_format": "#,##0.###"}),
        "total": book.add_format({"bold": True, "top": 1}),
        "total money": book.add_format(
            {"bold": True, "top": 1, "num_format": "#,##0" + ("." + "0" * digits if digits else "")}
        ),
    }
    _cost(plan, book.add_worksheet("Cost"), form)
    _shopping(plan, book.add_worksheet("Shopping"), form)
    if plan.cost.by_section_minor:
        _by_section(plan, book.add_worksheet("By section"), form)
    book.close()
    return out.getvalue()


def _opening(
    sheet: Any, title: str, note: str, head: tuple[str, ...], widths: tuple[int, ...], form: Any
) -> None:
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)
    sheet.write_string(0, 0, clean(title), form["title"])
    sheet.write_string(1, 0, clean(note))
    for column, word in enumerate(head):
        sheet.write_string(_FIRST_ROW - 1, column, word, form["head"])
    sheet.freeze_panes(_FIRST_ROW, 0)
    sheet.set_landscape()
    sheet.set_paper(9)  # A4
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(_FIRST_ROW - 1)


def _cost(plan: Plan, sheet: Any, form: Any) -> None:
    cost = plan.cost

    def money(minor: int) -> float:
        return float(money_text(minor, cost.currency))

    left = "; ".join(cost.left_out)
    note = f"Amounts in {cost.currency}. " + (
        f"Left out, without a price: {left}." if left else "All lines have a price."
    )
    _opening(sheet, f"Cost sheet: {plan.airframe.name}", note, _HEAD, _WIDTHS, form)
    row = _FIRST_ROW
    for line in cost.lines:
        sheet.write_string(row, 0, clean(line.kind))
        sheet.write_string(row, 1, clean(line.what))
        sheet.write_number(row, 2, float(line.quantity), form["number"])
        sheet.write_string(row, 3, clean(line.unit))
        if line.unit_price is not None:
            sheet.write_number(row, 4, float(line.unit_price), form["price"])
        if line.amount_minor is not None:
            sheet.write_number(row, 5, money(line.amount_minor), form["money"])
        sheet.write_string(row, 6, clean(line.source))
        row += 1
    last = max(row, _FIRST_ROW + 1)  # one-based number of the last line
    row = _sums(sheet, form, last + 1, last, [(k, money(v)) for k, v in cost.totals_minor.items()])
    for column in range(len(_HEAD)):
        sheet.write_blank(row, column, None, form["total"])
    sheet.write_string(row, 1, "Total", form["total"])
    if row > last + 1:
        formula = f"=SUM($F${last + 2}:$F${row})"
        sheet.write_formula(row, 5, formula, form["total money"], money(cost.total_minor))
    if cost.apart_minor:
        sheet.write_string(row + 2, 1, "Apart, not in the total, for it would count the same money twice:")
        _sums(sheet, form, row + 3, last, [(k, money(v)) for k, v in cost.apart_minor.items()])


def _sums(sheet: Any, form: Any, row: int, last: int, kinds: list[tuple[str, float]]) -> int:
    """A row for each kind, its sum as a formula over the lines; the first row after them."""
    first = _FIRST_ROW + 1
    for kind, value in kinds:
        sheet.write_string(row, 0, clean(kind))
        sheet.write_string(row, 1, "sum of this kind")
        formula = f"=SUMIF($A${first}:$A${last},A{row + 1},$F${first}:$F${last})"
        sheet.write_formula(row, 5, formula, form["money"], value)
        row += 1
    return row


def _by_section(plan: Plan, sheet: Any, form: Any) -> None:
    currency = plan.cost.currency
    note = (
        f"The total in {currency}: filament by the grams of each section, fittings by their own, all else"
        " by printed grams."
    )
    _opening(sheet, "Cost by section", note, ("Section", "Amount"), (40, 14), form)
    row = _FIRST_ROW
    for section, minor in plan.cost.by_section_minor.items():
        sheet.write_string(row, 0, clean(section) or "no section")
        sheet.write_number(row, 1, float(money_text(minor, currency)), form["money"])
        row += 1
    sheet.write_string(row, 0, "Total", form["total"])
    value = float(money_text(sum(plan.cost.by_section_minor.values()), currency))
    sheet.write_formula(row, 1, f"=SUM(B{_FIRST_ROW + 1}:B{row})", form["total money"], value)


def _shopping(plan: Plan, sheet: Any, form: Any) -> None:
    currency = plan.workshop.currency
    items = shopping_list(plan)
    left = "; ".join(without_price(items))
    note = f"Whole spools, then fittings, in {currency}. " + (
        f"Left out of the total, without a price: {left}." if left else "All have a price."
    )
    _opening(sheet, "Shopping list", note, _BUY_HEAD, (46, 12, 10, 14, 14), form)
    row = _FIRST_ROW
    for item in items:
        sheet.write_string(row, 0, clean(item.what))
        sheet.write_string(row, 1, item.kind)
        sheet.write_number(row, 2, item.number, form["number"])
        if item.price_minor is not None and item.amount_minor is not None:
            sheet.write_number(row, 3, float(money_text(item.price_minor, currency)), form["money"])
            value = float(money_text(item.amount_minor, currency))
            sheet.write_formula(row, 4, f"=C{row + 1}*D{row + 1}", form["money"], value)
        row += 1
    sheet.write_string(row, 0, "Total", form["total"])
    for column in range(1, 4):
        sheet.write_blank(row, column, None, form["total"])
    span = f"E{_FIRST_ROW + 1}:E{max(row, _FIRST_ROW + 1)}"
    if row == _FIRST_ROW:
        sheet.write_number(row, 4, 0.0, form["total money"])
    else:
        cached = float(money_text(total_minor(items), currency))
        sheet.write_formula(row, 4, f"=SUM({span})", form["total money"], cached)
