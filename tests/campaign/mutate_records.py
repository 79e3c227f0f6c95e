"""Records that are read here, changed: TOML, plans, ledgers, machine files.

Oracles outside the readers: refused in a sentence, or every number of what was read is finite; a ledger that
is opened to be read is not changed by that.
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import numpy as np

from planner.api.reading import read_job
from planner.api.request import PlanRequest
from planner.io.results.plan_file import read_plan
from planner.io.results.worlds_file import WORLDS, read_worlds, worlds_text
from planner.ledger.fact import DONE, WEIGHED, Fact
from planner.ledger.handed import look_through
from planner.ledger.reading import Reader
from planner.ledger.store import Ledger
from planner.model.risk import RiskAsked
from planner.pipeline.risk import livable_of, risk_in
from planner.report.exports.plan_json import plan_json
from tests.campaign.bytewise import damaged
from tests.fault.test_machine_files_mutated import mutated, outcome, seeds
from tests.plan_samples import sample_plan
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 17, 10, tzinfo=UTC)
KINDS = ("airframe.toml", "workshop.toml", "plan.json", "ledger.sqlite", "moves", "worlds.json")
SHARES = (0.3, 0.25, 0.25, 0.08, 0.09, 0.03)
MOST_VALUES = 20_000

Asks = Callable[[bytes], str]


class Records:
    """Sound records to begin from, and a folder in which changed ones are read; use it as a context."""

    def __init__(self) -> None:
        self._held = tempfile.TemporaryDirectory()
        self.folder = Path(self._held.name)
        self.kit = write_small_job(self.folder / "kit")
        self.sound = {
            "plan.json": plan_json(sample_plan()).encode(),
            WORLDS: worlds_text(livable_of(sample_plan())),
            "ledger.sqlite": self._ledger(),
            **{name: (self.kit / name).read_bytes() for name in ("airframe.toml", "workshop.toml")},
        }
        self.moves = seeds()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._held.cleanup()

    def _ledger(self) -> bytes:
        path = self.folder / "sound.sqlite"
        with Ledger(path, writing=True) as ledger:
            rows = [Fact(DONE, f"bed {n}", NOW, f"u{n}", data={"pieces": []}) for n in range(3)]
            ledger.write([*rows, Fact(WEIGHED, "clip 1", NOW, "w", data={"grams": 1.5, "pieces": []})])
        return path.read_bytes()

    def drawn(self, rng: np.random.Generator) -> tuple[str, str, bytes, Asks]:
        """What was changed, the ending of its name, the bytes, and what asks of them."""
        name = KINDS[int(rng.choice(len(KINDS), p=SHARES))]
        if name == "moves":
            data = mutated(rng, self.moves[int(rng.integers(len(self.moves)))])
            return name, "", data, self._moves
        data = damaged(rng, self.sound[name])
        suffix = Path(name).suffix
        if suffix == ".toml":
            return Path(name).stem, suffix, data, lambda data: self._toml(name, data)
        asks = {"plan.json": self._plan, WORLDS: self._worlds}.get(name, self._facts)
        return Path(name).stem, suffix, data, asks

    def _moves(self, data: bytes) -> str:
        path = self.folder / "moves"
        path.write_bytes(data)
        return outcome(path)

    def _toml(self, name: str, data: bytes) -> str:
        """The whole job of a small kit with that file."""
        (self.kit / name).write_bytes(data)
        try:
            request = PlanRequest(
                sources=(self.kit,), start="2026-12-01T17:10", cache_folder=None, zone="UTC"
            )
            job = read_job(request, NOW)
        finally:
            (self.kit / name).write_bytes(self.sound[name])
        finite(job.airframe)
        finite(job.workshop)
        return "read"

    def _plan(self, data: bytes) -> str:
        path = self.folder / "plan.json"
        path.write_bytes(data)
        finite(read_plan(path))
        return "read"

    def _worlds(self, data: bytes) -> str:
        """Lived through, in few worlds."""
        (self.folder / WORLDS).write_bytes(data)
        plan = read_worlds(self.folder)
        finite(plan)
        finite(risk_in(plan, RiskAsked(4, 0.1)))
        return "read"

    def _facts(self, data: bytes) -> str:
        path = self.folder / "handed.sqlite"
        path.write_bytes(data)
        try:
            with Reader(path) as ledger:
                ledger.newest("", 10)
            many = look_through(path)
            with Ledger(path) as ledger:
                facts = list(ledger.facts())
        finally:
            left = path.read_bytes()
            for file in self.folder.glob("handed.sqlite*"):
                file.unlink()
        assert left == data, "a ledger that is read is changed"
        assert many >= len(facts), "facts that nobody counted"
        for fact in facts:
            finite(fact)
        return "read"


def finite(value: object) -> None:
    """Every number within is one."""
    for n, one in enumerate(_numbers(value, 0)):
        assert math.isfinite(one), "a number is none"
        if n > MOST_VALUES:
            return


def _numbers(value: Any, depth: int) -> Iterator[float]:
    if isinstance(value, float):
        yield value
    elif depth > 12 or isinstance(value, str | bytes | int | type(None)):
        return
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from _numbers(inner, depth + 1)
    elif isinstance(value, list | tuple | set | frozenset):
        for inner in value:
            yield from _numbers(inner, depth + 1)
    elif is_dataclass(value):
        for one in fields(value):
            yield from _numbers(getattr(value, one.name), depth + 1)
