"""Whether a plan that goes on ends later than it has to, where all went as planned."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from tests.build.sheets import moment

Record = dict[str, Any]
ONE_JOB = timedelta(minutes=25)  # to clear, change and start one bed: what is half done is begun anew
ROUNDED = timedelta(minutes=1)  # hours of a delay are told rounded


def slip(before: Record, after: Record) -> str:
    """Why the finish of a plan is too late after one that went as planned; empty where it is not.

    A spool that the earlier plan would buy for speed, and that is not opened yet, may be saved: with ``buy =
    "if needed"`` a plan that goes on makes do with the shelf as long as that ends within the tolerated delay,
    and tells when it would end with the spool. It is that finish which must not slip then, and the plan's own
    must keep to the delay. The spools are counted here, not taken from what the plan says of them.
    """
    was, finish = (moment(plan["schedule"]["finish"]) for plan in (before, after))
    if finish <= was + ONE_JOB:
        return ""
    bought = _with_spools(after)
    if bought is None or not _saved(before, after):
        return f"nothing went wrong, and the finish slips from {was} to {finish}"
    if bought > was + ONE_JOB:
        return (
            f"nothing went wrong, and even with the spools it saves the finish slips from {was} to {bought}"
        )
    hours = after["replan"]["tolerance_h"]
    if finish > bought + timedelta(hours=hours) + ROUNDED:
        return f"to save a spool the finish slips from {was} to {finish}, by more than {hours} h"
    return ""


def _with_spools(plan: Record) -> datetime | None:
    """When it would end with the spools that it does without; ``None`` where it does without none."""
    told = plan["schedule"].get("buying")
    if told is None or told["bought"] or told["other_finish"] is None:
        return None
    return moment(told["other_finish"])


def _saved(before: Record, after: Record) -> bool:
    """Whether fewer spools are to be bought than were, less those that are on the shelf by now."""
    new = {spool["spool"] for spool in before["spools"] if spool["bought"]}
    here = {spool["spool"] for spool in after["spools"] if not spool["bought"]}
    still = sum(spool["bought"] for spool in after["spools"])
    return still < len(new - here)
