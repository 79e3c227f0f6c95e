"""A build as it was drawn: kit, workshop, and what befalls it; less of it that fails in the same way."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from tests.campaign.reduce import alike, fewest

Faults = Callable[["DrawnLife"], list[str]]


@dataclass(frozen=True, slots=True)
class Step:
    """One event by its name; whatever is random in it comes from a seed of its own, whatever went before."""

    event: str
    seed: int


@dataclass(frozen=True, slots=True)
class DrawnLife:
    """All that a build is made of.

    Parameters
    ----------
    kit, shop : seeds
    files : of the kit before some are left out
    rows : the files of it that are there
    hasty : its plans search a tenth
    """

    kit: int
    files: int
    pins: bool
    odd: bool
    shop: int
    hasty: bool
    rows: tuple[str, ...]
    steps: tuple[Step, ...] = ()

    @classmethod
    def of(cls, record: Mapping[str, Any]) -> DrawnLife:
        """As it was written down."""
        own = {name: record[name] for name in ("kit", "files", "pins", "odd", "shop", "hasty")}
        steps = tuple(Step(event, seed) for event, seed in record["steps"])
        return cls(**own, rows=tuple(record["rows"]), steps=steps)

    def record(self) -> dict[str, Any]:
        """To be written down."""
        return {**asdict(self), "rows": [*self.rows], "steps": [[one.event, one.seed] for one in self.steps]}


def least(life: DrawnLife, faults: Faults) -> DrawnLife:
    """Fewer events, then fewer files, then fewer events of these.

    Each still has a fault like the first one, and none that is like none of those of all.
    """
    all_ = faults(life)

    def fails(less: DrawnLife) -> bool:
        told = faults(less)
        same = any(alike(all_[0], fault) for fault in told)
        return same and all(any(alike(one, fault) for one in all_) for fault in told)

    def with_steps(life: DrawnLife) -> DrawnLife:
        return replace(life, steps=fewest(life.steps, lambda few: fails(replace(life, steps=few))))

    def with_rows(life: DrawnLife) -> DrawnLife:
        rows = fewest(life.rows, lambda few: bool(few) and fails(replace(life, rows=few)))
        return replace(life, rows=rows)

    if not all_:
        return life  # it failed once, and does not again
    less = with_rows(with_steps(life))
    return less if less.rows == life.rows else with_rows(with_steps(less))
