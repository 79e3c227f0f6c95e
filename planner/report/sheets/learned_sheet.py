"""What was learned from weighed pieces, timed runs and failures."""

from __future__ import annotations

from planner.model.learned import Factor, FailureRate, Judged, Taught
from planner.report.layout.blocks import Block, Column, Heading, Row, Table, Words
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.sheets.outlook_blocks import outlook_blocks
from planner.report.words import count

QUESTION = "How far was the prediction off, and what does the plan make of it?"
_FACTORS = (
    Column("what", 40.0),
    Column("", 54.0),
    Column("off by %", 22.0, "right"),
    Column("from - to %", 34.0, "right"),
    Column("facts", 20.0, "right"),
)
_WEIGHED = (
    Column("pieces", 68.0),
    Column("weighed g", 24.0, "right"),
    Column("tables g", 24.0, "right"),
    Column("expected g", 24.0, "right"),
    Column("", 30.0),
)
_FAILED = (
    Column("printer", 60.0),
    Column("failures", 30.0, "right"),
    Column("hours", 30.0, "right"),
    Column("in 100 h, expected", 50.0, "right"),
)


def learned_sheets(look: Lookup) -> list[Sheet]:
    """Factors with their ranges, the weigh-ins behind them, failures; nothing where no ledger was read."""
    taught = look.plan.taught
    if taught is None or not (taught.factors or taught.judged or taught.failures):
        return []
    blocks: list[Block] = outlook_blocks(look)
    if taught.factors:
        blocks += [
            Words(
                "Ranges are the 10 and 90 % values. What is not printed yet is predicted with these.", "quiet"
            ),
            *_fitted(taught),
            Table(_FACTORS, tuple(map(_factor, taught.factors))),
        ]
    if taught.judged:
        blocks += [Heading("Weighed pieces"), Table(_WEIGHED, tuple(map(_judged, taught.judged)))]
    if taught.failures:
        blocks += [Heading("Failures"), Table(_FAILED, tuple(map(_failed, taught.failures)))]
    told = f"{count(len(taught.judged), 'weigh-in')}, {count(len(taught.factors), 'factor')}"
    return laid_out("What was learned", QUESTION, told, blocks)


def _fitted(taught: Taught) -> list[Block]:
    """Which spreads were fitted, and to what."""
    if not taught.fitted_from:
        return []
    one = taught.spreads
    told = (
        f"The spreads themselves were fitted to {taught.fitted_from} weigh-ins: spool {one.spool:.3f},"
        f" printer {one.printer:.3f}, recipe {one.recipe:.3f}; those of filaments are taken"
        f" {one.times_filament:.2f} times, those of single pieces {one.times_rest:.2f} times as told."
    )
    return [Words(told, "quiet")]


def _factor(one: Factor) -> Row:
    off, low, high = (round(100.0 * (x - 1.0), 1) + 0.0 for x in (one.factor, one.low, one.high))
    return Row((one.kind, one.name, f"{off:+.1f}", f"{low:+.1f} - {high:+.1f}", str(one.facts)))


def _judged(one: Judged) -> Row:
    weigh_in = one.weigh_in
    cells = (
        weigh_in.name,
        f"{weigh_in.grams:.1f}",
        f"{weigh_in.predicted_g:.1f}",
        f"{one.expected_g:.1f}",
        "" if one.believed else "not believed",
    )
    return Row(cells)


def _failed(one: FailureRate) -> Row:
    return Row((one.printer, str(one.failures), f"{one.hours:.0f}", f"{100.0 * one.per_hour:.2f}"))
