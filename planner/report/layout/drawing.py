"""The few SVG elements that the sheets are drawn with; lengths in mm, y downwards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import chain

from planner.report.layout.colours import INK
from planner.report.layout.letter_widths import BOLD, thousandths, units_of
from planner.report.plain import clean, escaped

THIN, MIDDLE, THICK = 0.13, 0.25, 0.5  # line widths in the steps of ISO 128-2, mm
SMALL, TEXT, LARGE = 2.2, 2.5, 3.5  # lettering heights after ISO 3098, mm
FONT = "'Helvetica Neue', Helvetica, Arial, 'Liberation Sans', sans-serif"


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of a line of text of that size, whichever usual face sets it."""
    return _wide(thousandths(text), size) * (BOLD if bold else 1.0)


def _wide(letters: int, size: float) -> float:
    """The same for the sum of its letters."""
    return units_of(letters) / 1000.0 * size


def fitted(text: str, size: float, width: float) -> str:
    """The text, cut with three dots where it is wider than the room."""
    if text_width(text, size) <= width:
        return text
    while text and text_width(text + "\u2026", size) > width:
        text = text[:-1]
    return text.rstrip() + "\u2026" if text.strip() else ""


def lines_of(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """The text broken at blanks (and within words that are too long) into lines of that width."""
    width = width / BOLD if bold else width
    lines: list[str] = []
    taken, blank = 0, thousandths(" ")
    for word in clean(text).split():
        own = thousandths(word)
        if lines and _wide(taken + blank + own, size) <= width:
            lines[-1], taken = f"{lines[-1]} {word}", taken + blank + own
        elif _wide(own, size) <= width:
            lines.append(word)
            taken = own
        else:
            lines += _broken(word, size, width)
            taken = thousandths(lines[-1])
    return lines or [""]


def _broken(word: str, size: float, width: float) -> list[str]:
    """A word that is too long for a line, letter by letter."""
    lines = [""]
    for letter in word:
        if lines[-1] and text_width(lines[-1] + letter, size) > width:
            lines.append("")
        lines[-1] += letter
    return lines


def n(value: float) -> str:
    """A coordinate to a hundredth of a millimetre, as short as it can be written."""
    short = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if short == "-0" else short


def element(tag: str, attributes: dict[str, object], inside: str = "") -> str:
    """One element; attribute values are escaped, ``inside`` must be markup already."""
    told = "".join(
        f' {key}="{n(value) if isinstance(value, float) else escaped(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{tag}{told}>{inside}</{tag}>" if inside else f"<{tag}{told}/>"


def line(x1: float, y1: float, x2: float, y2: float, width: float = THIN, **more: object) -> str:
    """A straight line."""
    ends: dict[str, object] = {"x1": float(x1), "y1": float(y1), "x2": float(x2), "y2": float(y2)}
    return element("line", {**ends, "stroke": INK, "stroke-width": width, **_dashed(more)})


def rect(x: float, y: float, width: float, height: float, **more: object) -> str:
    """A rectangle; without ``fill`` it is empty."""
    place: dict[str, object] = {"x": float(x), "y": float(y), "width": float(width), "height": float(height)}
    return element("rect", {**place, "fill": "none", **_dashed(more)})


def circle(x: float, y: float, radius: float, **more: object) -> str:
    """A circle; without ``fill`` it is empty."""
    place: dict[str, object] = {"cx": float(x), "cy": float(y), "r": float(radius)}
    return element("circle", {**place, "fill": "none", **_dashed(more)})


def path(rings: Iterable[Sequence[tuple[float, float]]], closed: bool = True, **more: object) -> str:
    """One path through the points of each ring."""
    return path_along(strokes(rings, closed), **more)


def strokes(rings: Iterable[Sequence[tuple[float, float]]], closed: bool = True) -> str:
    """The points of each ring as a path tells them."""
    return "".join([_stroke(ring) + ("Z" if closed else "") for ring in rings])


def _stroke(ring: Sequence[tuple[float, float]]) -> str:
    """Points as `n` tells their numbers, all at once."""
    told = "%.2f %.2fL" * len(ring) % tuple(chain.from_iterable(ring))
    for end in " L":
        told = told.replace(f"0{end}", end).replace(f".0{end}", end)  # 1.50 is 1.5 then, 2.00 is 2.0 and 2
    for end in " L":
        told = told.replace(f"-0{end}", f"0{end}")
    return f"M{told[:-1]}"


def path_along(told: str, **more: object) -> str:
    """One path along ``strokes`` that were made before."""
    return element("path", {"d": told, "fill": "none", **_dashed(more)})


def text(x: float, y: float, words: str, size: float = TEXT, anchor: str = "start", **more: object) -> str:
    """A line of lettering whose base line begins, is centred or ends at (x, y)."""
    place: dict[str, object] = {"x": float(x), "y": float(y), "font-size": size}
    if anchor != "start":
        place["text-anchor"] = anchor
    return element("text", {**place, "fill": INK, **_dashed(more)}, escaped(words) or "&#160;")


def group(parts: Iterable[str], **more: object) -> str:
    """Elements with attributes in common."""
    return element("g", _dashed(more), "".join(parts) or "<g/>")


def picture(width: float, height: float, parts: Iterable[str], label: str, standalone: bool = False) -> str:
    """The whole drawing, as many millimetres large as it is told, with a label for screen readers."""
    attributes: dict[str, object] = {
        "xmlns": "http://www.w3.org/2000/svg",
        "width": f"{n(width)}mm",
        "height": f"{n(height)}mm",
        "viewBox": f"0 0 {n(width)} {n(height)}",
        "font-family": FONT,
        "role": "img",
        "aria-label": clean(label),
    }
    ground = rect(0, 0, width, height, fill="#ffffff") if standalone else ""
    title = f"<title>{escaped(label)}</title>" if standalone else ""
    drawn = element("svg", attributes, title + ground + "".join(parts))
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{drawn}\n' if standalone else drawn


def arrow(x: float, y: float, dx: float, dy: float) -> str:
    """A filled arrowhead with its point at (x, y), looking along the unit vector (dx, dy).

    Source: ISO 129-1, terminators; 15 degrees, here 2 mm long.
    """
    back, half = 2.0, 0.27
    corners = [
        (x, y),
        (x - back * dx - half * dy, y - back * dy + half * dx),
        (x - back * dx + half * dy, y - back * dy - half * dx),
    ]
    return path([corners], fill=INK)


def dimension(x1: float, y1: float, x2: float, y2: float, words: str) -> str:
    """A dimension line between two points, lettering above it and read from below or the right.

    Only horizontal and vertical ones (Source: ISO 129-1, figure lettering parallel to the line).
    """
    length = abs(x2 - x1) + abs(y2 - y1)
    dx, dy = ((x2 - x1) / length, (y2 - y1) / length) if length else (1.0, 0.0)
    middle_x, middle_y = (x1 + x2) / 2, (y1 + y2) / 2
    turned = f"rotate(-90 {n(middle_x)} {n(middle_y)})" if dy else None
    return (
        line(x1, y1, x2, y2)
        + arrow(x1, y1, -dx, -dy)
        + arrow(x2, y2, dx, dy)
        + text(middle_x, middle_y - 0.8, words, SMALL, "middle", transform=turned)
    )


def _dashed(more: dict[str, object]) -> dict[str, object]:
    """Python names as attribute names: ``stroke_width`` as ``stroke-width``, ``class_`` as ``class``."""
    return {key.rstrip("_").replace("_", "-"): value for key, value in more.items()}
