"""The built-in tables as rows of plain words."""

from __future__ import annotations

import tomllib
from importlib import resources

from planner.budget.fittings import built_in_fittings
from planner.files.builtin import builtin_filaments, builtin_printers, builtin_recipes

Rows = list[tuple[tuple[str, ...], str]]


def table_rows(name: str) -> tuple[tuple[str, ...], Rows]:
    """Head of a table, and for each row its cells and its source."""
    return {
        "filaments": _filaments,
        "printers": _printers,
        "recipes": _recipes,
        "fittings": _fittings,
        "finish": _finish,
    }[name]()


def _filaments() -> tuple[tuple[str, ...], Rows]:
    rows: Rows = []
    for f in builtin_filaments().values():
        soft = "-" if f.softening_c is None else f"{f.softening_c:.0f}"
        cells = (
            f.name,
            f"{f.solid_g_per_cm3:.2f}",
            f"{f.deposited_g_per_cm3:.2f}",
            f"{f.nozzle_c:.0f}",
            soft,
        )
        rows.append((cells, f.source))
    return ("filament", "solid g/cm3", "laid g/cm3", "nozzle C", "gives at C"), rows


def _printers() -> tuple[tuple[str, ...], Rows]:
    rows: Rows = []
    for p in builtin_printers().values():
        cells = (
            p.name,
            f"{p.bed.width_mm:.0f} x {p.bed.depth_mm:.0f}",
            f"{p.clear_height_mm:.0f}",
            p.bed.shape,
        )
        rows.append((cells, p.source))
    return ("printer", "bed mm", "height mm", "shape"), rows


def _recipes() -> tuple[tuple[str, ...], Rows]:
    rows: Rows = []
    for r in builtin_recipes().values():
        walls = "spiral" if r.spiral else str(r.walls)
        layers = f"{r.top_layers} / {r.bottom_layers}"
        cells = (
            r.name,
            f"{r.layer_height_mm:g}",
            f"{r.bead_width_mm:g}",
            walls,
            layers,
            f"{100 * r.infill:.0f} %",
        )
        rows.append((cells, r.source))
    return ("recipe", "layer mm", "bead mm", "walls", "top / bottom", "infill"), rows


def _fittings() -> tuple[tuple[str, ...], Rows]:
    rows: Rows = []
    for row in built_in_fittings().values():
        each = "a metre" if row.per == "metre" else "each"
        rows.append(((row.name, row.kind, f"{row.low_g:.3g} - {row.high_g:.3g}", each), row.source))
    return ("fitting", "kind", "g", ""), rows


def _finish() -> tuple[tuple[str, ...], Rows]:
    text = (resources.files("planner") / "data" / "finish.toml").read_text(encoding="utf-8")
    rows: Rows = [
        ((row["name"], row["key"], f"{row['low']:g} - {row['high']:g}"), row["source"])
        for row in tomllib.loads(text)["row"]
    ]
    return ("finish", "key under [finish]", "range"), rows
