"""A random workshop by its seed: four kinds of printers, filaments of one's own, a shelf, the week."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import tomlkit

from tests.kits.kit import FOAM, SOFT, STIFF, TOUGH

Table = dict[str, Any]
WORKDAYS = ["mon", "tue", "wed", "thu", "fri"]
ALL_FILAMENTS = [FOAM, STIFF, TOUGH, SOFT]


@dataclass(frozen=True, slots=True)
class Shop:
    """``workshop.toml`` as values, and a printer that may be bought later."""

    record: Table
    later: Table

    def write(self, folder: Path) -> Path:
        """``workshop.toml`` in a folder."""
        path = folder / "workshop.toml"
        path.write_text(tomlkit.dumps(self.record), encoding="utf-8")
        return path


def random_shop(seed: int) -> Shop:
    """Four printers of four kinds, four filaments, opened and full spools, evenings and week-ends."""
    rng = np.random.default_rng(seed + 1000)
    record: Table = {
        "currency": "EUR",
        "energy_price": "0.31 EUR",
        "time_zone": str(rng.choice(["Europe/Lisbon", "Asia/Kolkata", "America/Halifax"])),
        "clearance_mm": 4.0,
        "printer": _printers(rng),
        "filament": _filaments(rng),
        "spool": _spools(rng),
        "attendance": _week(rng),
    }
    later: Table = {"name": "tall", "like": "desktop 220 fast", "loaded": STIFF, "filaments": ALL_FILAMENTS}
    later["bed"] = _bed(rng, 170, 190)
    return Shop(record, later)


def _printers(rng: np.random.Generator) -> list[Table]:
    """A slow, a fast, a small and a round one, all with little beds: a kit needs many of them."""
    clip = [[[0, 0], [24, 0], [24, 8], [0, 8]]]
    small: Table = {"name": "small", "like": "desktop 180", "loaded": SOFT, "filaments": [STIFF, SOFT, TOUGH]}
    small |= {"bed": _bed(rng, 110, 130), "clear_height_mm": 130}
    if rng.random() < 0.5:
        lengths = {"head_radius_mm": 22, "head_height_mm": 28, "gantry_height_mm": 40}
        small |= {"one_at_a_time": True, **lengths}
    desk: Table = {"name": "desk", "like": "desktop 220", "loaded": FOAM, "filaments": ALL_FILAMENTS}
    desk["bed"] = {**_bed(rng, 140, 160), "keep_outs": clip}
    quick: Table = {
        "name": "quick",
        "like": "desktop 250",
        "loaded": STIFF,
        "filaments": [FOAM, STIFF, TOUGH],
    }
    quick["bed"] = _bed(rng, 135, 150)
    drum: Table = {"name": "drum", "like": "round 300", "filaments": [FOAM, STIFF, SOFT], "steady_axis": "x"}
    wide = int(rng.integers(160, 180))
    drum["bed"] = {"shape": "round", "width_mm": wide, "depth_mm": wide, "margin_mm": 5}
    return [desk, quick, small, drum]


def _bed(rng: np.random.Generator, low: int, high: int) -> Table:
    return {
        "width_mm": int(rng.integers(low, high)),
        "depth_mm": int(rng.integers(low, high)),
        "margin_mm": 3,
    }


def _filaments(rng: np.random.Generator) -> list[Table]:
    """Own densities and prices; one foams, one bends."""
    return [
        {
            "name": FOAM,
            "like": FOAM,
            "deposited_g_per_cm3": round(float(rng.uniform(0.5, 0.7)), 3),
            "price": "36.00 EUR",
            "spool_g": 500,
        },
        {"name": STIFF, "like": "PLA", "solid_g_per_cm3": round(float(rng.uniform(1.2, 1.3)), 3)},
        {"name": TOUGH, "like": "PETG", "price": "23.50 EUR", "spool_g": 750},
        {
            "name": SOFT,
            "like": "TPU",
            "solid_g_per_cm3": round(float(rng.uniform(1.1, 1.24)), 3),
            "spool_g": 500,
        },
    ]


def _spools(rng: np.random.Generator) -> list[Table]:
    """Full and begun spools; not everything is covered."""
    rows = [("foam a", FOAM, 500.0), ("foam b", FOAM, float(rng.uniform(60, 200)))]
    rows += [("grey a", STIFF, 1000.0), ("grey b", STIFF, float(rng.uniform(80, 300)))]
    rows += [("soft a", SOFT, float(rng.uniform(40, 90)))]
    if rng.random() < 0.5:
        rows.append(("clear a", TOUGH, float(rng.uniform(100, 300))))
    return [{"name": n, "filament": f, "grams_left": round(g, 1)} for n, f, g in rows]


def _week(rng: np.random.Generator) -> list[Table]:
    """An hour in the morning, the evening, the week-end for two."""
    evening = str(rng.choice(["19:15", "19:45", "20:15"]))
    return [
        {"days": WORKDAYS, "from": "06:45", "until": "07:45"},
        {"days": WORKDAYS, "from": evening, "until": "22:30"},
        {"days": ["sat", "sun"], "from": "09:00", "until": "21:30", "person": "Ada"},
        {"days": ["sat"], "from": "10:00", "until": "16:00", "person": "Ben"},
    ]
