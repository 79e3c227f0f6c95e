"""One airframe of a plan of several."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from planner.plan_record.balance import BalanceRecord
from planner.plan_record.sums import MassRecord
from planner.plan_record.values import Amount, Count, Moment, Money, Name, Ordinal, Record, says


class OneOfSeveralRecord(Record, frozen=True, kw_only=True):
    """An airframe: its mass and balance, its share of money and minutes, and when it is printed."""

    airframe: Name
    copy_of: Annotated[str | None, says("What all copies of it are called; null where there is one.")]
    priority: Ordinal
    due: Annotated[date | None, says("The day by the end of which it shall be printed.")]
    finish: Annotated[Moment | None, says("When its last piece is printed; null where no bed is scheduled.")]
    late: bool
    datum: str
    options: dict[str, str]
    pieces: Count
    beds: Annotated[list[str], says("Beds with a piece of it, in the order of their runs.")]
    minutes: Annotated[Amount, says("Its share of the print minutes, by those of its pieces on each bed.")]
    mass: MassRecord
    balance: BalanceRecord
    cost: Annotated[Money, says("Its share of the total.")]
    cost_by_kind: dict[str, Money]
