"""The errors that the planner raises on purpose.

::

    PlannerError
    ├── InputError            something that the user gave cannot be used        (exit 2)
    │   ├── MeshError         a mesh file cannot be read or is no mesh
    │   ├── RecordError       a TOML, JSON or ledger record is wrong
    │   └── OutputError       the place for the results cannot be written
    ├── Infeasible            the input is sound but no plan exists              (exit 3)
    ├── MissingExtra          an optional package is needed and not installed    (exit 2)
    └── PlanFault             a finished plan failed its independent check       (exit 70)

Every message says what is wrong, where, which value met which limit, and what to do next.
"""

from __future__ import annotations

LONGEST = 500  # characters of a message; foreign values in it are cut


class PlannerError(Exception):
    """Root of the tree; carries the parts of its message as fields.

    Parameters
    ----------
    what : one sentence naming the thing, the value and the limit
    where : file, key or part the sentence is about, empty when it is about the whole job
    next_step : what the user can do now
    """

    def __init__(self, what: str, *, where: str = "", next_step: str = "") -> None:
        self.what = what
        self.where = where
        self.next_step = next_step
        super().__init__(what)

    def __reduce__(self) -> tuple[object, ...]:
        """Keep the fields when the error crosses from one process to another."""
        return (_rebuild, (type(self), self.what, self.where, self.next_step))

    def __str__(self) -> str:
        whole = _joined(self.where, self.what, self.next_step)
        if len(whole) <= LONGEST:
            return whole
        where = self.where if len(self.where) <= 120 else f"…{self.where[-119:]}"
        next_step = _cut(self.next_step, 160)
        return _joined(where, _cut(self.what, LONGEST - len(where) - len(next_step) - 3), next_step)


def _joined(where: str, what: str, next_step: str) -> str:
    head = f"{where}: {what}" if where else what
    return f"{head} {next_step}".strip() if next_step else head


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _rebuild(kind: type[PlannerError], what: str, where: str, next_step: str) -> PlannerError:
    return kind(what, where=where, next_step=next_step)


class InputError(PlannerError):
    """Something that the user gave cannot be used."""


class MeshError(InputError):
    """A mesh file cannot be read or is no mesh."""


class RecordError(InputError):
    """A record in a TOML or JSON file or in the ledger is wrong."""


class OutputError(InputError):
    """The place for the results cannot be written, or is not ours to replace."""


class Infeasible(PlannerError):
    """The input is sound, but no plan can satisfy it."""


class MissingExtra(PlannerError):
    """An optional package is needed for this job and is not installed."""


class PlanFault(PlannerError):
    """A finished plan failed its independent check: a bug of ours, never the user's."""
