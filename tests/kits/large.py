"""A whole job of many parts: generated meshes, their airframe in four sections, a workshop for it."""

from __future__ import annotations

from pathlib import Path

import tomlkit

from tests.kits.folder import folder_of_parts

_SECTIONS = (("wing", "wing"), ("fuselage", "fuselage"), ("tail", "tail"))  # word of the name, section
_RECIPES = {
    "skin": {"layer_height_mm": 0.25, "walls": 1, "top_layers": 0, "bottom_layers": 2, "infill": 0.0},
    "shell": {"walls": 2, "infill": 0.0, "brim_mm": 3.0},
    "plate": {"walls": 3, "infill": 0.25},
}
_RECIPE_OF = (("skin", "skin"), ("hull", "shell"))
_WORKSHOP = {
    "currency": "EUR",
    "energy_price": "0.31 EUR",
    "printer": [
        {"name": "desk", "like": "desktop 220", "count": 2},
        {"name": "small", "like": "desktop 180"},
    ],
    "filament": [
        {"name": "PLA", "like": "PLA", "price": "21.00 EUR", "spool_g": 1000},
        {"name": "PETG", "like": "PETG", "price": "24.00 EUR", "spool_g": 1000},
    ],
}


def large_job(folder: Path, count: int, seed: int = 1, fine: float = 1.0) -> Path:
    """Write meshes, ``airframe.toml`` and ``workshop.toml`` of a job of ``count`` parts into a new folder.

    Parameters
    ----------
    fine : share of the facets of skins and hulls, as in ``folder_of_parts``
    """
    folder_of_parts(folder, count, seed, fine)
    rows = [_row(path.stem) for path in sorted(folder.glob("*.stl"))]
    sections = list(dict.fromkeys(row["section"] for row in rows))
    record = {
        "airframe": {"name": f"Sum of {count} parts", "sections": sections},
        "recipe": _RECIPES,
        "part": rows,
    }
    (folder / "airframe.toml").write_text(tomlkit.dumps(record), encoding="utf-8")
    (folder / "workshop.toml").write_text(tomlkit.dumps(_WORKSHOP), encoding="utf-8")
    return folder


def _row(name: str) -> dict[str, str]:
    recipe = next((recipe for word, recipe in _RECIPE_OF if word in name), "plate")
    section = next((section for word, section in _SECTIONS if word in name), "fittings")
    tough = "mount" in name or "clip" in name
    return {
        "name": name,
        "mesh": f"{name}.stl",
        "section": section,
        "recipe": recipe,
        "filament": "PETG" if tough else "PLA",
    }
