"""A ledger as pandas tables."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from planner.ledger.accounts import accounts_of
from planner.ledger.evidence import weigh_ins_of
from planner.ledger.fact import Fact

if TYPE_CHECKING:
    import pandas as pd

_FACTS = {"seq": "Int64", "at": "time", "airframe": "string", "kind": "string", "about": "string",
          "grams": "float64", "who": "string"}  # fmt: skip
_WEIGHED = {"pieces": "string", "at": "time", "airframe": "string", "filament": "string", "recipe": "string",
            "printer": "string", "spool": "string", "grams": "float64", "predicted_g": "float64",
            "off_percent": "float64"}  # fmt: skip
_SPOOLS = {"spool": "string", "filament": "string", "at": "time", "what": "string", "grams": "float64",
           "after_g": "float64"}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class LedgerFrames:
    """Every fact that counts, every weigh-in, and every line of the spools' accounts; moments in UTC.

    Of pieces weighed together filament, recipe, printer and spool are told where all share one.
    """

    facts: pd.DataFrame
    weigh_ins: pd.DataFrame
    spools: pd.DataFrame


def frames_of(facts: Iterable[Fact], now: datetime) -> LedgerFrames:
    """The tables of these facts; accounts as they are now."""
    known = list(facts)
    rows = [
        {
            "seq": fact.seq,
            "at": fact.at,
            "airframe": fact.airframe,
            "kind": fact.kind,
            "about": fact.about,
            "grams": fact.data.get("grams"),
            "who": fact.who,
        }
        for fact in known
    ]
    weighed = [
        {
            "pieces": one.name,
            "at": one.at,
            "airframe": one.airframe,
            "grams": one.grams,
            "predicted_g": one.predicted_g,
            "off_percent": 100.0 * (one.grams / one.predicted_g - 1.0),
            **{
                key: _shared([getattr(piece, key) for piece in one.pieces])
                for key in ("filament", "recipe", "printer", "spool")
            },
        }
        for one in weigh_ins_of(known, {})
    ]
    spools = [
        {
            "spool": account.spool,
            "filament": account.filament,
            "at": line.at,
            "what": line.what,
            "grams": line.grams,
            "after_g": line.after_g,
        }
        for account in accounts_of(known, now).values()
        for line in account.entries
    ]
    return LedgerFrames(_frame(_FACTS, rows), _frame(_WEIGHED, weighed), _frame(_SPOOLS, spools))


def _shared(names: list[str]) -> str | None:
    return names[0] if len(set(names)) == 1 and names[0] else None


def _frame(columns: dict[str, str], rows: list[dict[str, Any]]) -> pd.DataFrame:
    """Rows as a table of the stated types, also where there is no row."""
    import pandas as pd

    made = {}
    for name, kind in columns.items():
        values = [row.get(name) for row in rows]
        if kind == "time":
            made[name] = pd.Series(pd.DatetimeIndex(values, tz="UTC").as_unit("s"))
        else:
            made[name] = pd.Series(values, dtype=kind)
    return pd.DataFrame(made)
