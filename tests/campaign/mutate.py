"""Files of every kind that is read here, changed by seed, in blocks that learn from the mutants before.

Meshes of all formats (`mutate_meshes`) and records (`mutate_records`): TOML, plans, ledgers, machine files.
Each is refused in a sentence of at most 500 characters, or gives finite numbers and keeps what must hold.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from planner.errors import LONGEST, PlannerError
from tests.campaign.bytewise import smallest
from tests.campaign.case import Case
from tests.campaign.feedback import Pool
from tests.campaign.keep import keeps, kept
from tests.campaign.mutate_meshes import damaged_mesh, related_mesh, warm_meshes
from tests.campaign.mutate_records import Records
from tests.campaign.near import load

LONGEST_S = 15.0
RECORDS = 0.25  # share of records
DAMAGED = 0.45  # share of meshes that are damaged; the answer for the others is known


@dataclass(frozen=True, slots=True)
class Mutant:
    """A changed file: what was done, the ending of its name, its bytes, and what asks whether it does harm.

    ``asks`` gives how far it came, and raises for what must not be.
    """

    what: str
    suffix: str
    data: bytes
    asks: Callable[[bytes], str]


def ready() -> None:
    """Compile and load what all blocks use."""
    load()
    warm_meshes()


def cases(numbers: range, seed: int) -> Iterator[Case]:
    """A block; every case by its own number, the pool by those before it."""
    pool, before = Pool(), tempfile.tempdir
    with Records() as records:
        tempfile.tempdir = str(records.folder)  # a place of few files, looked through for what others left
        for number in numbers:
            rng = np.random.default_rng([seed, number])
            began = time.process_time()
            mutant = _drawn(rng, pool, records)
            reached, fault = judged(mutant)
            seconds = time.process_time() - began
            if seconds > LONGEST_S:
                fault = fault or f"took {seconds:.0f} s"
            if fault and keeps():
                _keep(mutant, fault)
            yield Case("mutate", number, f"{mutant.what} {mutant.suffix}", reached, fault, seconds)
    tempfile.tempdir = before


def _drawn(rng: np.random.Generator, pool: Pool, records: Records) -> Mutant:
    if rng.random() < RECORDS:
        return Mutant(*records.drawn(rng))
    if rng.random() < DAMAGED:
        return Mutant(*damaged_mesh(rng, pool))
    return Mutant(*related_mesh(rng))


def judged(mutant: Mutant) -> tuple[str, str]:
    """How far it came, and what is wrong."""
    try:
        return mutant.asks(mutant.data), ""
    except PlannerError as error:
        said = str(error)
        return "refused", "" if 0 < len(said) <= LONGEST else f"refused in {len(said)} characters"
    except Exception as error:
        return "failed", f"{type(error).__name__}: {error}"[:300]


def _keep(mutant: Mutant, fault: str) -> None:
    """The smallest file that fails in the same way."""
    way = fault.split(":")[0]
    data = smallest(mutant.data, lambda less: judged(Mutant("", "", less, mutant.asks))[1].startswith(way))
    kept(mutant.what.replace(" ", "_"), mutant.suffix, data, judged(Mutant("", "", data, mutant.asks))[1])
