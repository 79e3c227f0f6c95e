"""Wing loading and wing cube loading, with the bands that builders use."""

from __future__ import annotations

from planner.units import DM2_PER_M2, G_PER_KG

# Common practice, no formal source; the cube loading goes back to F. Reynolds, Model Builder, 1989.
_CUBE_BANDS = (
    (4.0, "slow flyers and thermal gliders"),
    (5.0, "between slow flyers and trainers"),
    (7.0, "trainers and park flyers"),
    (10.0, "sport and scale aerobatic models"),
    (13.0, "sport scale models"),
)
_HEAVIEST = "warbirds and racers"
# At 1 to 1.5 m span; common practice, no source, from memory.
_LOADING_BANDS = (
    (10.0, 25.0, "gliders"),
    (30.0, 50.0, "trainers"),
    (40.0, 70.0, "sport models"),
    (60.0, 100.0, "warbirds"),
)


def wing_loading_g_per_dm2(mass_g: float, area_dm2: float) -> float:
    """Mass over wing area."""
    return mass_g / area_dm2


def wing_cube_loading_kg_per_m3(mass_g: float, area_dm2: float) -> float:
    """Mass over wing area to the power 3/2.

    Source: F. Reynolds, Model Builder, September 1989 (the idea); unlike wing loading it does not
    grow with the size of similar models. 1 oz/ft3 is 1.00115 kg/m3, so both units share the bands.
    """
    return float((mass_g / G_PER_KG) / (area_dm2 / DM2_PER_M2) ** 1.5)


def cube_band(loading_kg_per_m3: float) -> str:
    """What kind of model usually has this wing cube loading (common practice)."""
    return next((name for limit, name in _CUBE_BANDS if loading_kg_per_m3 < limit), _HEAVIEST)


def loading_band(loading_g_per_dm2: float) -> str:
    """What kinds of model usually have this wing loading (common practice); empty when none has."""
    return " or ".join(name for low, high, name in _LOADING_BANDS if low <= loading_g_per_dm2 <= high)
