"""What a plan is lived through with, in its results folder: to ask for its risk without planning anew."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from zoneinfo import ZoneInfo

import msgspec
import numpy as np
from numpy.typing import NDArray

from planner.errors import RecordError
from planner.model.risk import Chances, RiskAsked
from planner.plan_record.worlds import SCHEMA, LivedBedRecord, LivedPrinterRecord, WorldsRecord, wrong_in
from planner.scheduling.simulation.livable import Livable, LivableBed
from planner.scheduling.simulation.workplace import queue_of
from planner.scheduling.simulation.worlds_kernel import Workplace

WORLDS = "worlds.json"
_AGAIN = "Plan again: it is written with every plan in which something runs."


def worlds_text(plan: Livable) -> bytes:
    """The plan as the file holds it: JSON, every number to its last bit."""
    work = plan.work
    return msgspec.json.encode(
        WorldsRecord(
            schema=SCHEMA,
            start=plan.start,
            finish=plan.finish,
            zone=plan.zone,
            local=plan.local,
            seed=plan.chances.seed,
            rest=plan.chances.rest,
            printers=[_printer(n, name, plan) for n, name in enumerate(plan.printers)],
            beds=[_bed(n, bed, work) for n, bed in enumerate(plan.beds)],
            start_minutes=work.start,
            clear_minutes=work.clear,
            change_minutes=work.change,
            run_purge_g=plan.run_purge_g,
            change_purge_g=plan.change_purge_g,
            there=work.there.tolist(),
            shut=work.shut.tolist(),
            visits=work.visits.tolist(),
        )
    )


def _printer(n: int, name: str, plan: Livable) -> LivedPrinterRecord:
    work, chances = plan.work, plan.chances
    return LivedPrinterRecord(
        name=name,
        failures_per_hour=chances.failures.get(name, 0.0),
        spread=chances.spreads.get(name, 0.0),
        loaded=int(work.loaded[n]),
        fitted=int(work.fitted[n]),
        covered=bool(work.covered[n]),
        cool_minutes=float(work.cool[n]),
        refit_minutes=work.refit[n].tolist(),
    )


def _bed(n: int, bed: LivableBed, work: Workplace) -> LivedBedRecord:
    return LivedBedRecord(
        name=bed.name,
        printer=bed.printer,
        filament=bed.filament,
        material=int(work.material[n]),
        fit=int(work.fit[n]),
        grams=bed.grams,
        purge_g=bed.purge_g,
        begins=float(work.begins[n]),
        minutes=float(work.minutes[n]),
        heat_up_minutes=float(work.heat_up[n]),
        watch_minutes=float(work.watch[n]),
        attended=bool(work.attended[n]),
        running=bool(work.running[n]),
    )


def read_worlds(folder: Path) -> Livable:
    """The plan of a results folder, to be lived through.

    Raises
    ------
    RecordError
        where there is no such file (no plan, one of an older version, or one in which nothing runs), or it
        cannot be used
    """
    path = folder / WORLDS
    try:
        told = msgspec.json.decode(path.read_bytes(), type=WorldsRecord)
        ZoneInfo(told.zone)
    except OSError as error:
        raise RecordError(
            "nothing is kept here to live through a plan with.", where=str(path), next_step=_AGAIN
        ) from error
    except (ValueError, LookupError, RecursionError) as error:
        raise RecordError(f"the file cannot be used ({error}).", where=str(path), next_step=_AGAIN) from error
    if wrong := wrong_in(told):
        raise RecordError(f"the file cannot be used ({wrong}).", where=str(path), next_step=_AGAIN)
    return Livable(
        told.start,
        told.finish,
        told.zone,
        told.local,
        tuple(one.name for one in told.printers),
        tuple(LivableBed(b.name, b.printer, b.filament, b.grams, b.purge_g) for b in told.beds),
        told.run_purge_g,
        told.change_purge_g,
        _chances(told),
        _workplace(told),
    )


def _chances(told: WorldsRecord) -> Chances:
    rates = {one.name: one.failures_per_hour for one in told.printers}
    spreads = {one.name: one.spread for one in told.printers}
    return Chances(RiskAsked(), told.seed, rates, spreads, told.rest)


def _workplace(told: WorldsRecord) -> Workplace:
    beds, printers = told.beds, told.printers
    begins = _floats([one.begins for one in beds])
    return Workplace(
        queue=queue_of([one.printer for one in beds], begins.tolist(), len(printers)),
        minutes=_floats([one.minutes for one in beds]),
        heat_up=_floats([one.heat_up_minutes for one in beds]),
        begins=begins,
        running=_ints([one.running for one in beds]),
        material=_ints([one.material for one in beds]),
        fit=_ints([one.fit for one in beds]),
        attended=_ints([one.attended for one in beds]),
        watch=_floats([one.watch_minutes for one in beds]),
        loaded=_ints([one.loaded for one in printers]),
        fitted=_ints([one.fitted for one in printers]),
        covered=_ints([one.covered for one in printers]),
        cool=_floats([one.cool_minutes for one in printers]),
        refit=np.array([one.refit_minutes for one in printers], dtype=np.float64),
        clear=told.clear_minutes,
        change=told.change_minutes,
        start=told.start_minutes,
        there=_rows(told.there, 3),
        shut=_rows(told.shut, 4),
        visits=_rows(told.visits, 2),
    )


def _floats(values: Sequence[float]) -> NDArray[np.float64]:
    return np.array(values, dtype=np.float64)


def _ints(values: Sequence[int]) -> NDArray[np.int32]:
    return np.array(values, dtype=np.int32)


def _rows(rows: Sequence[Sequence[float]], width: int) -> NDArray[np.float64]:
    return np.array(rows, dtype=np.float64).reshape(len(rows), width)
