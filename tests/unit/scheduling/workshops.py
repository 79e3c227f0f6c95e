"""Workshops and batches made by hand or drawn at random, for the tests of the schedule."""

from __future__ import annotations

from datetime import UTC, datetime, time

import numpy as np

from planner.model.attendance import Attendance, WeeklyWindow
from planner.model.batch import Batch
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.workshop import Workshop

MONDAY = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
PLAIN = Filament("PLA", "PLA", 1.24, 1.24)
FOAM = Filament("foaming PLA", "PLA", 1.24, 0.6, spool_g=500.0, watch_minutes=10)
SOFT = Filament("TPU", "TPU", 1.21, 1.21, unattended_run=False)
ALL_DAYS = tuple(range(7))


def evenings_and_mornings(persons: int = 1, zone: str = "UTC") -> Attendance:
    """06:00-08:00 and 18:00-23:00 on every day."""
    return Attendance(
        weekly=(WeeklyWindow(ALL_DAYS, time(6), time(8)), WeeklyWindow(ALL_DAYS, time(18), time(23))),
        zone=zone,
        persons=persons,
    )


def make_batch(
    name: str, minutes: float, kind: str = "desk", filament: str = "PLA", mass_g: float = 50.0
) -> Batch:
    """A batch of which only what the schedule reads matters."""
    return Batch(name, kind, filament, 0.2, (), minutes, mass_g, 50.0, 0.5)


def make_workshop(attendance: Attendance, *printers: Printer, spools: tuple[Spool, ...] = ()) -> Workshop:
    """A workshop with three filaments and, unless given, one printer."""
    return Workshop(
        printers=printers or (Printer("one", "desk", loaded="PLA"),),
        filaments=(PLAIN, FOAM, SOFT),
        spools=spools,
        attendance=attendance,
    )


def random_case(seed: int) -> tuple[list[Batch], Workshop]:
    """A workshop of one to four printers of two kinds, and up to sixteen batches that it can print."""
    rng = np.random.default_rng(seed)
    kinds = ["desk", "tall"][: int(rng.integers(1, 3))]
    names = ["PLA", "foaming PLA", "TPU"]
    printers = [
        Printer(
            f"{kind} {n}",
            kind,
            loaded=[None, *names][rng.integers(0, 4)],
            cool_down_minutes=float(rng.integers(0, 20)),
        )
        for kind in kinds
        for n in range(1, int(rng.integers(2, 4)))
    ]
    zone = ["UTC", "Europe/Lisbon", "America/St_Johns"][rng.integers(0, 3)]
    attendance = evenings_and_mornings(int(rng.integers(1, 3)), zone)
    if rng.random() < 0.2:
        attendance = Attendance(zone=zone)
    batches = []
    for n in range(int(rng.integers(1, 17))):
        filament = names[rng.choice(3, p=[0.5, 0.4, 0.1])]
        longest = 150.0 if filament == "TPU" else 1300.0
        batches.append(
            make_batch(
                f"bed {n}",
                float(rng.uniform(10.0, longest)),
                kinds[rng.integers(0, len(kinds))],
                filament,
                float(rng.uniform(1.0, 450.0)),
            )
        )
    spools = tuple(
        Spool(f"{n + 1}", names[rng.integers(0, 3)], float(rng.uniform(0.0, 900.0)))
        for n in range(int(rng.integers(0, 6)))
    )
    return batches, make_workshop(attendance, *printers, spools=spools)
