"""A ledger that is only read: without the library of the store, which takes half a second to import."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from planner.errors import RecordError
from planner.ledger.connecting import reading, there
from planner.ledger.fact import TAKEN_BACK, Fact
from planner.ledger.refusals import told_of
from planner.ledger.schema import MIGRATIONS

COLUMNS = "seq, uid, at, airframe, who, kind, about, takes_back, data"
_COUNTS = "kind != ? AND uid NOT IN (SELECT takes_back FROM fact WHERE takes_back IS NOT NULL)"


def fact_of(row: Sequence[Any], path: Path) -> Fact:
    """A row of the ledger, its columns in the order of the table.

    Raises
    ------
    RecordError
        naming the row, where it holds no fact
    """
    seq, uid, at, airframe, who, kind, about, takes_back, data = row
    try:
        told = json.loads(data)
        if not isinstance(told, dict):
            raise TypeError
        return Fact(kind, about, datetime.fromisoformat(at), uid, airframe, who, takes_back or "", told, seq)
    except (TypeError, ValueError, AttributeError, RecordError) as error:
        raise RecordError(
            f"its fact {seq} cannot be understood.",
            where=str(path),
            next_step="Put back a copy of the ledger; nothing was changed.",
        ) from error


class Reader:
    """The facts of one workshop as they are now; use it as a context.

    Raises
    ------
    RecordError
        for a file that is not there, damaged, no ledger, or of another schema
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        there(path)
        with told_of(path):
            self._connection: sqlite3.Connection = reading(path, MIGRATIONS)
            try:
                self._connection.execute("BEGIN")
            except BaseException:
                self._connection.close()
                raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._connection.close()

    def facts(
        self, *, kinds: Sequence[str] = (), airframe: str | None = None, after: int = 0
    ) -> Iterator[Fact]:
        """Facts in the order in which they were written, without those that were taken back."""
        asked, given = f"seq > ? AND {_COUNTS}", [after, TAKEN_BACK]
        return self._rows(*_narrowed(asked, given, kinds, airframe))

    def newest(self, airframe: str, most: int) -> list[Fact]:
        """The last facts of an airframe and of the workshop that count, the last one first."""
        asked, given = _narrowed(_COUNTS, [TAKEN_BACK], (), airframe)
        return list(self._rows(asked, given, f"DESC LIMIT {most}"))

    def names(self, kind: str, airframe: str) -> set[str]:
        """What facts of a kind are about that were not taken back, without their data."""
        with told_of(self.path):
            found = self._connection.execute(
                f"SELECT DISTINCT about FROM fact WHERE kind = ? AND airframe = ? AND {_COUNTS}",  # noqa: S608
                [kind, airframe, TAKEN_BACK],
            )
            return {row[0] for row in found}

    def knows(self, uid: str) -> bool:
        """Whether there is a fact of that uid, taken back or not."""
        with told_of(self.path):
            found = self._connection.execute("SELECT 1 FROM fact WHERE uid = ?", [uid])
            return found.fetchone() is not None

    def last(self) -> int:
        """The place of the fact that was written last, 0 in an empty ledger."""
        with told_of(self.path):
            return int(self._connection.execute("SELECT max(seq) FROM fact").fetchone()[0] or 0)

    def _rows(self, asked: str, given: Sequence[Any], order: str = "") -> Iterator[Fact]:
        with told_of(self.path):
            text = f"SELECT {COLUMNS} FROM fact WHERE {asked} ORDER BY seq {order}"  # noqa: S608 - own words
            for row in self._connection.execute(text, given):
                yield fact_of(row, self.path)


def _narrowed(
    asked: str, given: Sequence[Any], kinds: Sequence[str], airframe: str | None
) -> tuple[str, list[Any]]:
    values = list(given)
    if kinds:
        asked += f" AND kind IN ({', '.join('?' * len(kinds))})"
        values += kinds
    if airframe is not None:
        asked += " AND airframe IN (?, '')"
        values.append(airframe)
    return asked, values
