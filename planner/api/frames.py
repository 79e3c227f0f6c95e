"""A plan as pandas tables."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from planner.api.faces import EarlierPlan
from planner.api.frame_columns import COLUMNS, Kind
from planner.api.told_rows import Row, told_rows
from planner.model.plan import Plan

if TYPE_CHECKING:
    import pandas as pd

Told = Mapping[str, list[Row]]


@dataclass(frozen=True, slots=True, repr=False, eq=False)
class Frames:
    """The tables of a plan; units stand in the names of the columns.

    Text is pandas' text type, counts are ``Int64``, numbers ``float64``, yes and no ``bool``, moments are
    aware, in the zone of the plan. What is not known is missing, never 0: where an old file does not tell a
    yes or no, its column is ``boolean``. ``layers`` follow from the deposits: of a plan that was read back
    the table is empty, as is any other that its file lacks. ``weigh_ins`` are those of a ledger.

    Examples
    --------
    >>> import planner
    >>> tables = planner.frames(planner.plan("kit", start="2026-12-01T18:00", effort="quick"))
    >>> tables
    <frames: parts 2, pieces 3, batches 1, layers ..., runs 1, visits 2, spools 1, ...>
    >>> tables.parts[["part", "pieces", "mass_g"]].dtypes.map(str).tolist()[1:]
    ['Int64', 'float64']
    """

    parts: pd.DataFrame
    pieces: pd.DataFrame
    batches: pd.DataFrame
    layers: pd.DataFrame
    runs: pd.DataFrame
    visits: pd.DataFrame
    spools: pd.DataFrame
    mass_items: pd.DataFrame
    cost_lines: pd.DataFrame
    findings: pd.DataFrame
    weigh_ins: pd.DataFrame

    def __repr__(self) -> str:
        rows = {one.name: len(getattr(self, one.name)) for one in fields(self)}
        told = ", ".join(f"{name} {n}" for name, n in rows.items() if n or name != "weigh_ins")
        return f"<frames: {told}>"


def frames(plan: Plan | EarlierPlan) -> Frames:
    """The tables of a plan, or of one that was read back.

    The numbers are those of ``plan.json``: lengths to 1 um, grams to 1 mg, minutes to 0.01.

    Raises
    ------
    planner.errors.RecordError
        where the file that was read back tells a value of another kind, naming it

    Examples
    --------
    >>> import planner
    >>> made = planner.plan("kit", start="2026-12-01T18:00", effort="quick")
    >>> runs = planner.frames(made).runs
    >>> runs.groupby("printer", observed=True).mass_g.sum().round(1).to_dict()
    {'desktop 220': ...}
    """
    if isinstance(plan, EarlierPlan):
        record, source = plan.record, plan.source
    else:
        from planner.report.exports.plan_json import plan_record

        record, source = plan_record(plan), "plan.json"
    told, zone = told_rows(record, source), plan.start.tzinfo
    for name in ("spools", "cost_lines"):
        told[name] = [{**row, "currency": record.get("currency")} for row in told[name]]
    made = {name: _frame(COLUMNS[name], list(rows(told)), zone) for name, rows in _ROWS.items()}
    layers = _layers(plan) if isinstance(plan, Plan) else []
    return Frames(**made, layers=_frame(COLUMNS["layers"], layers, zone))


def _frame(columns: Mapping[str, Kind], rows: list[Row], zone: Any) -> pd.DataFrame:
    """Rows as a table of the stated types, also where there is no row."""
    import pandas as pd

    types = {"text": "string", "number": "float64", "count": "Int64", "flag": "bool"}
    made = {}
    for name, kind in columns.items():
        values = [row.get(name) for row in rows]
        if kind == "time":
            made[name] = pd.Series(pd.DatetimeIndex(values, tz="UTC").tz_convert(zone).as_unit("s"))
        elif kind == "flag" and None in values:
            made[name] = pd.Series(values, dtype="boolean")
        else:
            made[name] = pd.Series(values, dtype=types[kind])
    return pd.DataFrame(made)


def _parts(told: Told) -> Iterator[Row]:
    count: dict[str, int] = {}
    for piece in told["pieces"]:
        count[piece["part"]] = count.get(piece["part"], 0) + 1
    for part in told["parts"]:
        size = dict(zip(("x_mm", "y_mm", "z_mm"), part.get("extents_mm", ()), strict=False))
        yield {**part, **size, "pieces": count.get(part["part"], 0)}


def _pieces(told: Told) -> Iterator[Row]:
    part_of = {part["part"]: part for part in told["parts"]}
    lies: dict[str, Row] = {}
    for batch in told["batches"]:
        lies |= {placed["piece"]: {**placed, "batch": batch["batch"]} for placed in batch["placed"]}
    for piece in told["pieces"]:
        part = part_of.get(piece["part"], {})
        yield {**lies.get(piece["piece"], {}), **piece,
               "mass_g": part.get("mass_g"), "minutes": part.get("minutes")}  # fmt: skip


def _batches(told: Told) -> Iterator[Row]:
    for batch in told["batches"]:
        yield {**batch, "pieces": len(batch["placed"])}


def _runs(told: Told) -> Iterator[Row]:
    batch_of = {batch["batch"]: batch for batch in told["batches"]}
    for run in told["runs"]:
        batch = batch_of[run["batch"]]
        start, end = datetime.fromisoformat(run["start"]), datetime.fromisoformat(run["end"])
        yield {
            **run,
            "filament": batch["filament"],
            "start": start,
            "end": end,
            "minutes": (end - start).total_seconds() / 60.0,
            "mass_g": batch["mass_g"],
            "pieces": len(batch["placed"]),
            "spools": "; ".join(draw["spool"] for draw in run["spools"]),
        }


def _visits(told: Told) -> Iterator[Row]:
    for visit in told["visits"]:
        tasks = visit["tasks"]
        yield {
            "at": datetime.fromisoformat(visit["at"]),
            "minutes": visit["minutes"],
            "tasks": len(tasks),
            "what": "; ".join(tasks),
        }


def _spools(told: Told) -> Iterator[Row]:
    for spool in told["spools"]:
        yield {**spool, "price": _amount(spool.get("price"))}


def _mass_items(told: Told) -> Iterator[Row]:
    for item in told["mass_items"]:
        at = item.get("station_mm")
        yield {**item, "moment_g_mm": None if at is None else at * item["mass_g"]}


def _cost_lines(told: Told) -> Iterator[Row]:
    for line in told["cost_lines"]:
        yield {**line, "unit_price": _amount(line.get("unit_price")), "amount": _amount(line.get("amount"))}


def _findings(told: Told) -> Iterator[Row]:
    yield from told["findings"]


def _weigh_ins(told: Told) -> Iterator[Row]:
    for one in told["weigh_ins"]:
        at = one.get("at")
        yield {
            **one,
            "at": None if at is None else datetime.fromisoformat(at),
            "off_percent": 100.0 * (one["grams"] / one["predicted_g"] - 1.0) if one["predicted_g"] else None,
        }


_ROWS: dict[str, Callable[[Told], Iterator[Row]]] = {
    "parts": _parts,
    "pieces": _pieces,
    "batches": _batches,
    "runs": _runs,
    "visits": _visits,
    "spools": _spools,
    "mass_items": _mass_items,
    "cost_lines": _cost_lines,
    "findings": _findings,
    "weigh_ins": _weigh_ins,
}


def _amount(text: str | None) -> float | None:
    """Money such as ``14.50`` as a number of its currency."""
    return None if text is None else float(Decimal(text))


def _layers(plan: Plan) -> list[Row]:
    """Every layer of one piece of every part; the seconds of a part add up to its minutes."""
    from planner.report.lookup import Lookup

    look, rows = Lookup(plan), []
    for part in plan.parts:
        deposit = plan.deposits[part.name]
        kind = look.timed_on(part.name)
        layers = deposit.layers
        taken = None if kind is None else look.seconds_on(part.name, kind)
        for n in range(len(layers)):
            rows.append(
                {
                    "part": part.name,
                    "layer": n + 1,
                    **{name: float(getattr(layers, name)[n]) for name in layers.__dataclass_fields__},
                    "seconds": None if taken is None else float(taken[n]),
                }
            )
    return rows
