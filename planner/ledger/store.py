"""Facts to the ledger and back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from sqlalchemy import Engine, Select, func, select
from sqlalchemy.dialects.sqlite import insert

from planner.errors import RecordError
from planner.ledger.fact import TAKEN_BACK, Fact
from planner.ledger.opening import opened
from planner.ledger.reading import fact_of
from planner.ledger.refusals import told_of
from planner.ledger.tables import FACTS

if TYPE_CHECKING:
    from planner.ledger.frames import LedgerFrames

AT_ONCE = 500  # rows read in one go


class Ledger:
    """The facts of one workshop; use it as a context.

    Parameters
    ----------
    path : of the SQLite file
    writing : whether facts are added; then it is made where there is none, else it must be there

    Raises
    ------
    RecordError
        for a file that is damaged, no ledger, or of a newer schema
    OutputError
        where it cannot be written
    """

    def __init__(self, path: Path, *, writing: bool = False) -> None:
        self.path = path
        self._engine: Engine = opened(path, writing=writing)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    def write(self, facts: Sequence[Fact]) -> tuple[Fact, ...]:
        """Append facts, all of them or none; those that are there already are not written again.

        Returns
        -------
        written : the ones that are new, with their places in the ledger

        Raises
        ------
        RecordError
            for a uid that another fact has; for a fact that takes back one that is not there or is taken
            back already
        OutputError
            where the disk is full or the file may not be written
        """
        new: list[Fact] = []
        with told_of(self.path), self._engine.begin() as connection:
            for fact in facts:
                known = connection.execute(select(FACTS).where(FACTS.c.uid == fact.uid)).one_or_none()
                if known is not None:
                    _refuse_other(fact, fact_of(known, self.path))
                    continue
                if fact.takes_back:
                    self._refuse_untakable(connection, fact)
                made = connection.execute(insert(FACTS).values(**_values(fact)).returning(FACTS.c.seq))
                new.append(_with_seq(fact, made.scalar_one()))
        return tuple(new)

    def facts(
        self,
        *,
        kinds: Sequence[str] = (),
        airframe: str | None = None,
        after: int = 0,
        everything: bool = False,
    ) -> Iterator[Fact]:
        """Facts in the order in which they were written, without those that were taken back.

        Parameters
        ----------
        kinds : none: all of them
        airframe : those of one airframe, and those of the workshop
        after : only what stands behind that place
        everything : what was taken back, and what took it back, too
        """
        asked = select(FACTS).where(FACTS.c.seq > after).order_by(FACTS.c.seq)
        if kinds:
            asked = asked.where(FACTS.c.kind.in_(kinds))
        if airframe is not None:
            asked = asked.where(FACTS.c.airframe.in_((airframe, "")))
        if not everything:
            back = select(FACTS.c.takes_back).where(FACTS.c.takes_back.is_not(None))
            asked = asked.where(FACTS.c.kind != TAKEN_BACK, FACTS.c.uid.not_in(back))
        with told_of(self.path), self._engine.connect() as connection:
            for row in connection.execution_options(yield_per=AT_ONCE).execute(asked):
                yield fact_of(row, self.path)

    def names(self, kind: str, airframe: str) -> set[str]:
        """What facts of a kind are about that were not taken back, without their data."""
        back = select(FACTS.c.takes_back).where(FACTS.c.takes_back.is_not(None))
        asked = select(FACTS.c.about).where(
            FACTS.c.kind == kind, FACTS.c.airframe == airframe, FACTS.c.uid.not_in(back)
        )
        with told_of(self.path), self._engine.connect() as connection:
            return set(connection.execute(asked.distinct()).scalars())

    def says(self, fact: Fact) -> bool:
        """Whether a fact that counts was made of the same words, under whatever uid."""
        words = fact.data.get("said", fact.uid)
        back = select(FACTS.c.takes_back).where(FACTS.c.takes_back.is_not(None))
        asked = select(FACTS).where(
            FACTS.c.kind == fact.kind,
            FACTS.c.airframe == fact.airframe,
            FACTS.c.about == fact.about,
            FACTS.c.uid.not_in(back),
        )
        with told_of(self.path), self._engine.connect() as connection:
            rows = [fact_of(row, self.path) for row in connection.execute(asked)]
        return any(words in (one.uid, one.data.get("said")) for one in rows)

    def frames(self, now: datetime) -> LedgerFrames:
        """Facts, weigh-ins and accounts of spools as pandas tables; accounts as they are at a moment."""
        from planner.ledger.frames import frames_of

        return frames_of(self.facts(), now)

    def last(self) -> int:
        """The place of the fact that was written last, 0 in an empty ledger."""
        return self._number(select(func.max(FACTS.c.seq)))

    def times_taken_back(self, kind: str, about: str, airframe: str) -> int:
        """How often a fact of that kind about that thing was taken back."""
        taken = FACTS.alias("taken")
        joined = FACTS.join(taken, taken.c.takes_back == FACTS.c.uid)
        asked = select(func.count()).select_from(joined)
        return self._number(
            asked.where(FACTS.c.kind == kind, FACTS.c.about == about, FACTS.c.airframe == airframe)
        )

    def _number(self, asked: Select[Any]) -> int:
        with told_of(self.path), self._engine.connect() as connection:
            return int(connection.execute(asked).scalar() or 0)

    def _refuse_untakable(self, connection: Any, fact: Fact) -> None:
        there = connection.execute(select(FACTS.c.kind).where(FACTS.c.uid == fact.takes_back)).scalar()
        taken = connection.execute(select(FACTS.c.seq).where(FACTS.c.takes_back == fact.takes_back)).scalar()
        if there is None or there == TAKEN_BACK or taken is not None:
            why = "was taken back already" if taken is not None else "is not one that can be taken back"
            raise RecordError(f"the fact {fact.takes_back!r} {why}.", where=str(self.path))


def _refuse_other(fact: Fact, known: Fact) -> None:
    if not fact.same_as(known):
        raise RecordError(
            f"the uid {fact.uid!r} belongs to another fact ({known.kind} {known.about!r}).",
            next_step="Give every fact a uid of its own.",
        )


def _values(fact: Fact) -> dict[str, Any]:
    return {
        "uid": fact.uid,
        "at": fact.at.isoformat(),
        "airframe": fact.airframe,
        "who": fact.who,
        "kind": fact.kind,
        "about": fact.about,
        "takes_back": fact.takes_back or None,
        "data": fact.text,
    }


def _with_seq(fact: Fact, seq: int) -> Fact:
    values = {name: getattr(fact, name) for name in Fact.__slots__}
    return Fact(**{**values, "seq": seq})
