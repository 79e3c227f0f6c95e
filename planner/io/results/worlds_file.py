"""What a plan is lived through with, in its results folder: to ask for its risk without planning anew."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import ZoneInfo

import msgspec
import numpy as np
from numpy.typing import NDArray

from planner.errors import RecordError
from planner.io.results.worlds_arrays import chances_from, dryers_from, workplace_from
from planner.plan_record.worlds import (
    SCHEMA,
    LivedBedRecord,
    LivedPrinterRecord,
    LoadRecord,
    WorldsRecord,
    wrong_in,
)
from planner.scheduling.simulation.livable import Livable, LivableBed
from planner.scheduling.simulation.presence_kernel import NOBODY, Dryers

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
            beds=[_bed(n, bed, plan) for n, bed in enumerate(plan.beds)],
            start_minutes=work.start,
            clear_minutes=work.clear,
            change_minutes=work.change,
            run_purge_g=plan.run_purge_g,
            change_purge_g=plan.change_purge_g,
            there=work.there.tolist(),
            shut=work.shut.tolist(),
            visits=work.visits.tolist(),
            loads=[_load(n, plan.dryers) for n in range(len(plan.dryers.loads))],
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


def _bed(n: int, bed: LivableBed, plan: Livable) -> LivedBedRecord:
    work, dryers = plan.work, plan.dryers
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
        needs_loads=_named(dryers.needs_dry[n]),
        frees_loads=_named(dryers.frees[n]),
    )


def _load(n: int, dryers: Dryers) -> LoadRecord:
    put_in, take_out, dries = dryers.loads[n].tolist()
    return LoadRecord(put_in=put_in, take_out=take_out, dry_minutes=dries, follows=_named(dryers.follows[n]))


def _named(row: NDArray[np.int32]) -> list[int]:
    return [one for one in row.tolist() if one != NOBODY]


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
        chances_from(told),
        workplace_from(told),
        dryers_from(told),
    )
