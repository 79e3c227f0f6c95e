"""How sections and filaments are told apart: by colour and hatch, and by a letter in a circle."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from planner.report.layout.colours import INK, SECTIONS
from planner.report.layout.drawing import (
    MIDDLE,
    SMALL,
    circle,
    element,
    group,
    line,
    rect,
    text,
)
from planner.report.lookup import Lookup

_HATCHES = ("up", "down", "level", "upright", "cross", "dots", "broken")


@dataclass(frozen=True, slots=True)
class Style:
    """Colour and hatch of a section."""

    colour: str
    hatch: str


def section_styles(look: Lookup) -> dict[str, Style]:
    """A style for every section; 42 differ, after that they come round again."""
    return {
        section: Style(SECTIONS[k % len(SECTIONS)], _HATCHES[k % len(_HATCHES)])
        for k, section in enumerate(look.sections)
    }


def plain_style() -> Style:
    """For what belongs to no section."""
    return Style("#9aa5b1", "broken")


def hatch_name(prefix: str, style: Style) -> str:
    """The identifier of a hatch; the prefix keeps drawings on one page apart."""
    return f"{prefix}-{style.hatch}-{style.colour[1:]}"


def hatch_definitions(prefix: str, styles: Iterable[Style]) -> str:
    """The patterns of these styles, to stand once in a drawing."""
    return element("defs", {}, "".join(_pattern(prefix, style) for style in dict.fromkeys(styles)))


def _pattern(prefix: str, style: Style) -> str:
    pitch = 2.6
    marks = {
        "up": [line(0, 0, 0, pitch, 0.3)],
        "down": [line(0, 0, 0, pitch, 0.3)],
        "level": [line(0, 0, pitch, 0, 0.3)],
        "upright": [line(0, 0, 0, pitch, 0.3)],
        "cross": [line(0, 0, pitch, 0, 0.25), line(0, 0, 0, pitch, 0.25)],
        "dots": [circle(pitch / 2, pitch / 2, 0.34, fill=INK)],
        "broken": [line(0, 0, 0, 1.3, 0.3)],
    }[style.hatch]
    turn = {"up": 45, "down": -45, "cross": 45, "broken": 20}.get(style.hatch, 0)
    ground = rect(0, 0, pitch, pitch, fill="#ffffff") + rect(
        0, 0, pitch, pitch, fill=style.colour, fill_opacity="0.16"
    )
    drawn = "".join(marks).replace(INK, style.colour)
    return element(
        "pattern",
        {
            "id": hatch_name(prefix, style),
            "width": pitch,
            "height": pitch,
            "patternUnits": "userSpaceOnUse",
            "patternTransform": f"rotate({turn})" if turn else None,
        },
        ground + drawn,
    )


def swatch(prefix: str, style: Style, x: float, y: float, width: float = 6.0, height: float = 3.6) -> str:
    """A small field of a section's hatch."""
    return rect(x, y, width, height, fill=f"url(#{hatch_name(prefix, style)})", stroke=INK, stroke_width=0.18)


def letter_mark(x: float, y: float, letter: str, radius: float = 1.9) -> str:
    """The letter of a filament in a circle, centred at (x, y)."""
    size = SMALL if len(letter) == 1 else 1.7
    return group(
        [
            circle(x, y, radius, fill="#ffffff", stroke=INK, stroke_width=MIDDLE),
            text(x, y + 0.36 * size, letter, size, "middle", font_weight="bold"),
        ]
    )
