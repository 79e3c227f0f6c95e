"""Half a build of the demo, told as somebody would tell it: beds, a failure, the scale, spools, an absence.

Everything follows from the plan that it is told of and from names; nothing is drawn by chance. Invented data.
"""

from __future__ import annotations

import sys
import zlib
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from textwrap import fill

from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Answer, Told, record
from planner.api.shelving import SpoolTold, away, spool_weighed
from planner.ledger.told_plan import piece_data
from planner.model.replan import EarlierPlan
from planner.model.schedule import Run

HEAVIER = {"foaming PLA": 1.055, "PLA": 0.992}  # what the scale says, times the tables
JITTER = 0.008  # of single pieces, at most
SLOWER = 1.02  # minutes of the machines, times the plan
FAILED_AT = 0.6  # share of its run after which a bed failed
LIGHT_G = 2.0  # lighter pieces are weighed together
UNWEIGHED = 4  # every fourth piece has not been on the scale yet


def half(plan: EarlierPlan) -> datetime:
    """The moment at which half of the beds are over: a few minutes after the end of the last of them."""
    ends = sorted(run.end for run in plan.runs)
    return ends[(len(ends) - 1) // 2] + timedelta(minutes=5)


def told(plan: EarlierPlan, now: datetime) -> Iterator[tuple[datetime, Told]]:
    """Moments, and the words that were written then, in their order."""
    begun = sorted((run for run in plan.runs if run.start < now), key=lambda run: (run.start, run.batch))
    failed = _failed(plan, begun, now)
    words: list[tuple[datetime, Told]] = []
    for run in begun:
        words.append((run.start, Told((run.batch, "began"), at=_at(run.start))))
        end = _ended(run, begun, now)
        if run.batch == failed:
            stopped = run.start + FAILED_AT * (run.end - run.start)
            good = min(_pieces(plan, run.batch), key=lambda piece: (_grams(plan, piece), piece))
            words.append((stopped, Told((run.batch, "failed"), at=_at(stopped), good=(good,), layer=40)))
        elif end is not None:
            words.append((end, Told((run.batch, "done"), at=_at(end))))
            words += [(end, one) for one in _weighed(plan, run.batch)]
    yield from sorted(words, key=lambda one: one[0])


def tell(place: LedgerPlace) -> tuple[datetime, list[str]]:
    """Write all of it to the ledger of a plan.

    Returns
    -------
    now : the moment at which the build stands there
    lines : what was told, in sentences
    """
    plan = place.earlier()
    now = half(plan)
    answers: list[Answer] = []
    for at, words in told(plan, now):
        answers.append(record(place, words, at + timedelta(minutes=1)))
    for name, grams in _spools(plan, now):
        answers.append(spool_weighed(place, SpoolTold(name, grams=f"{grams:.0f}"), now))
    idle = _idle(plan, now)
    if idle is not None:
        until = (now + timedelta(hours=20)).strftime("%Y-%m-%dT%H:%M")
        answers.append(away(place, idle, None, until, "the fan is being changed", now))
    return now, [line for answer in answers for line in answer.lines[:-1]]


def _failed(plan: EarlierPlan, begun: list[Run], now: datetime) -> str | None:
    """The last bed of several pieces that is over by the plan."""
    over = [run for run in begun if run.end <= now and len(_pieces(plan, run.batch)) > 1]
    return over[-1].batch if len(over) > 1 else None


def _ended(run: Run, begun: list[Run], now: datetime) -> datetime | None:
    """When a bed was over: a little late, but before the next one of its printer, or the moment of now."""
    if run.end > now:
        return None
    late = run.start + SLOWER * (run.end - run.start)
    after = [other.start for other in begun if other.printer == run.printer and other.start >= run.end]
    return min(late, *(start - timedelta(minutes=1) for start in after), now)


def _weighed(plan: EarlierPlan, bed: str) -> Iterator[Told]:
    """Light pieces lie on the scale together."""
    pieces = [piece for n, piece in enumerate(_pieces(plan, bed), 1) if n % UNWEIGHED]
    light = [piece for piece in pieces if _grams(plan, piece) < LIGHT_G]
    lots = [[piece] for piece in pieces if piece not in light] + ([light] if light else [])
    said = [word for lot in lots for word in (" + ".join(lot), f"{sum(_grams(plan, p) for p in lot):.1f}")]
    if said:
        yield Told(("weighed", *said))


def _grams(plan: EarlierPlan, piece: str) -> float:
    """What the scale shows for a piece."""
    data = piece_data(plan, piece)
    off = (zlib.crc32(piece.encode()) % 2001 - 1000) / 1000.0
    times = HEAVIER.get(str(data["filament"]), 1.0) * (1.0 + JITTER * off)
    return max(0.1, float(data["predicted_g"]) * times)


def _pieces(plan: EarlierPlan, bed: str) -> list[str]:
    return [placed.piece for batch in plan.batches if batch.name == bed for placed in batch.placed]


def _spools(plan: EarlierPlan, now: datetime) -> list[tuple[str, float]]:
    """Spools of the shelf that no run is drawing from, and what they hold by the scale."""
    drawn: dict[str, float] = {}
    busy: set[str] = set()
    for run in plan.runs:
        for draw in run.draws:
            if run.start < now < run.end:
                busy.add(draw.spool)
            elif run.end <= now:
                drawn[draw.spool] = drawn.get(draw.spool, 0.0) + draw.grams + run.purge_g
    shelf = {use.spool: use.grams_before for use in plan.spools if not use.bought}
    return [
        (name, max(1.0, shelf[name] - drawn[name])) for name in shelf if name in drawn and name not in busy
    ]


def _idle(plan: EarlierPlan, now: datetime) -> str | None:
    """A printer on which nothing runs at that moment, where another one is left."""
    names = list(dict.fromkeys(run.printer for run in plan.runs))
    runs = {run.printer for run in plan.runs if run.start < now < run.end}
    idle = [name for name in names if name not in runs]
    return idle[0] if idle and len(names) > 1 else None


def _at(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%dT%H:%M")


def main() -> int:
    """Tell half a build of the plan in a folder: half_built.py FOLDER RESULTS."""
    folder, results = (Path(word) for word in sys.argv[1:])
    now, lines = tell(LedgerPlace(folder=folder, plan=results))
    for line in lines:
        print(fill(line, 80, subsequent_indent="  "), file=sys.stderr)
    print(_at(now))
    return 0


if __name__ == "__main__":
    sys.exit(main())
