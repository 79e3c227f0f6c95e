"""The built-in tables as rows of plain words."""

from __future__ import annotations

import textwrap
import tomllib
from importlib import resources

from planner.io.records.builtin import TABLE_CURRENCY, builtin_filaments, builtin_printers, builtin_recipes
from planner.model.filament import Filament
from planner.model.recipe import Recipe
from planner.units import minor_digits
from planner.weights.fittings import built_in_fittings

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
        cells = (
            f.name,
            f"{f.solid_g_per_cm3:.2f}",
            f"{f.deposited_g_per_cm3:.2f}",
            f"{f.nozzle_c:.0f}",
            "-" if f.softening_c is None else f"{f.softening_c:.0f}",
            _price_range(f),
            "-" if f.dry_c is None or f.dry_hours is None else f"{f.dry_hours:g} at {f.dry_c:.0f}",
        )
        rows.append((cells, f"{f.source} {_foamed(f)}".strip()))
    spool = f"{TABLE_CURRENCY}/spool"
    head = ("filament", "solid g/cm3", "laid g/cm3", "nozzle C", "gives C", spool, "dry h, C")
    return head, rows


def _price_range(filament: Filament) -> str:
    if filament.price_low_minor is None or filament.price_high_minor is None:
        return "-"
    scale = 10 ** minor_digits(TABLE_CURRENCY)
    return f"{filament.price_low_minor / scale:.0f} - {filament.price_high_minor / scale:.0f}"


def _foamed(filament: Filament) -> str:
    """Density over nozzle temperature and where it came from."""
    if not filament.foam_curve:
        return ""
    curve = ", ".join(f"{c:g} C {density:g}" for c, density in filament.foam_curve)
    return f"Laid g/cm3 over nozzle temperature: {curve} ({filament.foam_source.rstrip('.')})."


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
            f"{r.calipers_mm:.2f}",
            f"{r.pitch_mm:.2f}",
            walls,
            layers,
            f"{100 * r.infill:.0f} %",
        )
        rows.append((cells, r.source))
    return ("recipe", "layer mm", "bead mm", "wall mm", "mean mm", "walls", "top/bottom", "infill"), rows


_BEADS = """\
    one wall, cut across          bead = "rounded"      bead = "full"
       ______________              ____________        ______________
      (              )            (            )      |              |
       )------------(             -------------       ----------------   h
      (______________)            the flow fills      the flow fills
      |<--  wall_mm -->|          |<  bead_width >|   |< bead_width >|
"""


def bead_text() -> str:
    """What calipers read on one wall and what it weighs, in a drawing and numbers."""
    skin = Recipe("any", layer_height_mm=0.25, bead_width_mm=0.4)
    full = Recipe("any", layer_height_mm=0.25, bead_width_mm=0.4, bead="full")
    wall = Recipe("any", layer_height_mm=0.25, wall_mm=0.4, bead="full")
    more = 100.0 * (full.pitch_mm / skin.pitch_mm - 1.0)
    text = (
        '"wall mm" is what calipers read on a skin of one wall: they ride on the crests. "mean mm" is how'
        " thick it is on the average, which is what it weighs: round ends take 0.2146 of the layer height."
        f" At 0.25 mm layers bead_width_mm = 0.4 reads {skin.calipers_mm:g} and lays {skin.pitch_mm:.3f} mm;"
        f' with bead = "full" it reads {full.calipers_mm:.3f} and lays {full.pitch_mm:g} mm, {more:.0f} %'
        f" more. wall_mm = 0.4 lays {wall.pitch_mm:.3f} mm with either. Give what you know, never both:"
        " wall_mm as measured on a skin, or bead_width_mm as set, and with it how your flow is reckoned"
        " (geometry)."
    )
    return _BEADS + "\n" + "\n".join(textwrap.wrap(text, 80, break_on_hyphens=False))


def support_text() -> str:
    """What support is like where a recipe asks for it and says no more."""
    r = Recipe("any")
    text = (
        'None of them builds support. With support = "bed only" or "everywhere" a recipe holds what looks'
        f" down flatter than {r.support_angle_deg:g}°: {r.support_walls} wall round"
        f" {100 * r.support_infill:.0f} % inside, {r.support_interface_layers} whole layers under the part,"
        f" {r.support_gap_mm:g} mm free beside it and {r.support_gap_height_mm:g} mm below it,"
        f" {r.support_widening_deg:g}° wider towards the bed (common practice, no source)."
    )
    return "\n".join(textwrap.wrap(text, 80))


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
