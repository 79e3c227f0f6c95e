"""Draw ``docs/wall.svg``: a skin of one wall cut across, and what calipers read on it."""

from __future__ import annotations

from environment import ROOT

from planner.model.recipe import Recipe
from planner.report.layout.drawing import FONT, element, n

PICTURE = ROOT / "docs" / "wall.svg"
SCALE = 120.0  # of the drawing
INK, FILL, PALE = "#1a1a1a", "#c9d6df", "#f4f4f4"
LAYERS, TOP, BOTTOM = 3, 20.0, 14.0
STEP = 76.0  # from one wall to the next


def _text(x: float, y: float, words: str, size: float = 3.5, anchor: str = "middle") -> str:
    where = {"x": x, "y": y, "font-size": size, "text-anchor": anchor, "fill": INK}
    return element("text", where, words)


def _line(x: float, y: float, x2: float, y2: float, dash: str | None = None) -> str:
    way = f"M{n(x)} {n(y)}L{n(x2)} {n(y2)}"
    return element("path", {"d": way, "stroke": INK, "stroke-width": 0.25, "stroke-dasharray": dash})


def _measure(left: float, right: float, y: float, words: str) -> str:
    """A length between two ticks, its words above it."""
    ticks = _line(left, y - 1.5, left, y + 1.5) + _line(right, y - 1.5, right, y + 1.5)
    return _line(left, y, right, y) + ticks + _text(0.5 * (left + right), y - 2.0, words)


def _wall(recipe: Recipe, x: float) -> str:
    """Layers of one bead with round ends; calipers over the crests, the mean thickness below."""
    high, wide = recipe.layer_height_mm * SCALE, recipe.calipers_mm * SCALE
    mean, foot = recipe.pitch_mm * SCALE, TOP + LAYERS * recipe.layer_height_mm * SCALE
    bead = {
        "width": wide,
        "height": high,
        "rx": 0.5 * high,
        "fill": FILL,
        "stroke": INK,
        "stroke-width": 0.25,
    }
    out = "".join(element("rect", {"x": x - 0.5 * wide, "y": TOP + k * high, **bead}) for k in range(LAYERS))
    for side in (-1.0, 1.0):
        jaw = x + side * 0.5 * wide
        shape = {"width": 6.0, "height": foot - TOP + 4.0, "fill": PALE, "stroke": INK, "stroke-width": 0.25}
        out += element("rect", {"x": jaw - (6.0 if side < 0.0 else 0.0), "y": TOP - 4.0, **shape})
        out += _line(x + side * 0.5 * mean, TOP, x + side * 0.5 * mean, foot + 8.0, "1.5 1")
    out += _measure(
        x - 0.5 * wide, x + 0.5 * wide, TOP - 8.0, f"calipers: wall_mm = {recipe.calipers_mm:.3g}"
    )
    out += _measure(x - 0.5 * mean, x + 0.5 * mean, foot + 8.0, f"weighs as {recipe.pitch_mm:.3f} mm")
    told = f'bead = "{recipe.bead}", bead_width_mm = {recipe.bead_width_mm:g}'
    return out + _text(x, foot + BOTTOM, told.replace('"', "&quot;"))


def drawing() -> str:
    """The picture: the same width set, the flow reckoned in both ways."""
    skins = [
        Recipe("skin", layer_height_mm=0.2, bead_width_mm=0.4, bead=bead) for bead in ("rounded", "full")
    ]
    width, height = STEP * len(skins), TOP + LAYERS * skins[0].layer_height_mm * SCALE + BOTTOM + 4.0
    inside = element("rect", {"width": width, "height": height, "fill": "#ffffff"})
    inside += "".join(_wall(skin, STEP * (k + 0.5)) for k, skin in enumerate(skins))
    frame = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {n(width)} {n(height)}",
        "width": f"{n(width)}mm",
        "height": f"{n(height)}mm",
        "font-family": FONT,
        "role": "img",
        "aria-label": "A skin of one wall cut across: calipers ride on the crests of the layers",
    }
    return element("svg", frame, inside) + "\n"


if __name__ == "__main__":
    PICTURE.write_text(drawing(), encoding="utf-8")
