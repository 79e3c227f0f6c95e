"""The plan as tables: comma-separated text for any program, and a workbook of the cost sheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from planner.model.plan import Plan
from planner.report.answers import without
from planner.report.exports.workbook import cost_sheet_xlsx
from planner.report.lookup import Lookup
from planner.report.plain import sheet_text
from planner.units import money_text

__all__ = ["cost_sheet_csv", "cost_sheet_xlsx", "parts_csv", "spools_csv"]

Cell = str | int | float | None


def _csv(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Rows ended by CR LF, cells quoted where they must be (Source: RFC 4180); unknown is empty."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow(
            "" if cell is None else sheet_text(cell) if isinstance(cell, str) else cell for cell in row
        )
    return out.getvalue()


class _Plain(float):
    """A number that is written with the digits it was made from."""

    def __new__(cls, text: str) -> _Plain:
        made = super().__new__(cls, text)
        made.text = text
        return made

    text: str

    def __repr__(self) -> str:
        return self.text

    __str__ = __repr__


def cost_sheet_csv(plan: Plan) -> str:
    """Every cost line, then a total for each kind and one over all; unknown amounts are empty.

    ``in_total`` is no for lines that are shown apart because they would count money twice.
    """
    code = plan.cost.currency

    def amount(minor: int | None) -> Cell:
        return None if minor is None else _Plain(money_text(minor, code))

    rows: list[Sequence[Cell]] = []
    for line in plan.cost.lines:
        price = None if line.unit_price is None else _Plain(f"{line.unit_price:f}")
        rows.append(
            (line.kind, line.what, _Plain(f"{line.quantity:f}"), line.unit, price,
             amount(line.amount_minor), code, "yes" if line.in_total else "no", line.source)
        )  # fmt: skip
    for kind, minor in plan.cost.totals_minor.items():
        rows.append((kind, f"total {kind}", None, "", None, amount(minor), code, "", "sum of lines above"))
    total = amount(plan.cost.total_minor)
    rows.append(("total", "total", None, "", None, total, code, "", _left_out(plan)))
    for one in plan.airframes:
        name = one.airframe.name
        rows.append((f"airframe {name}", f"share of {name}", None, "", None, amount(one.cost_minor), code,
                     "no", "part of the total"))  # fmt: skip
    for section, minor in plan.cost.by_section_minor.items():
        name = section or "no section"
        rows.append((f"section {name}", f"share of {name}", None, "", None, amount(minor), code, "no",
                     "part of the total"))  # fmt: skip
    for kind, minor in plan.cost.apart_minor.items():
        rows.append((kind, f"apart: {kind}", None, "", None, amount(minor), code, "no", "not in the total"))
    head = ("kind", "what", "quantity", "unit", "unit_price", "amount", "currency", "in_total", "source")
    return _csv(head, rows)


def _left_out(plan: Plan) -> str:
    names = plan.cost.left_out
    told = [f"leaves out, without a price: {'; '.join(names)}"] if names else []
    told += [words] if (words := without(plan)) else []
    return "; ".join(told) or "nothing left out"


def parts_csv(plan: Plan) -> str:
    """One row a part; mass, metres and minutes are those of one piece."""
    look = Lookup(plan)
    rows: list[Sequence[Cell]] = []
    for part in plan.parts:
        deposit = plan.deposits[part.name]
        minutes, props = look.minutes_of(part.name), look.support_minutes_of(part.name)
        x, y, z = (round(v, 3) for v in deposit.extents_mm)
        notes = dict.fromkeys(f.text for f in look.findings if f.about == part.name)
        rows.append(
            (
                part.name,
                part.mesh,
                part.section,
                part.hand,
                len(look.pieces_of(part.name)),
                part.filament,
                part.recipe.name,
                x,
                y,
                z,
                round(deposit.volume_mm3 / 1000.0, 3),
                round(deposit.support_mm3 / 1000.0, 3),
                round(deposit.mass_g, 3),
                round(deposit.filament_m, 3),
                None if minutes is None else round(minutes, 2),
                "; ".join(notes),
                look.timed_on(part.name),
                round(deposit.support_g, 3),
                None if props is None else round(props, 2),
            )
        )
    head = (
        "part",
        "mesh",
        "section",
        "hand",
        "pieces",
        "filament",
        "recipe",
        "x_mm",
        "y_mm",
        "z_mm",
        "deposit_volume_cm3",
        "support_volume_cm3",
        "mass_g",
        "filament_m",
        "minutes",
        "findings",
        "timed_on",
        "support_g",
        "support_minutes",
    )
    return _csv(head, rows)


def spools_csv(plan: Plan) -> str:
    """One row a spool: grams before, used, purged and left; ``bought`` is yes for one to buy."""
    code = plan.workshop.currency
    rows = [
        (
            u.spool,
            u.filament,
            "yes" if u.bought else "no",
            round(u.grams_before, 3),
            round(u.grams_used, 3),
            round(u.grams_purged, 3),
            round(u.grams_left, 3),
            None if u.price_minor is None else _Plain(money_text(u.price_minor, code)),
            code,
        )
        for u in plan.spools
    ]
    return _csv(
        (
            "spool",
            "filament",
            "bought",
            "grams_before",
            "grams_used",
            "grams_purged",
            "grams_left",
            "price",
            "currency",
        ),
        rows,
    )
