"""One colour for each section, in build order."""

from __future__ import annotations

from planner.report.layout.colours import ACCENT, ACCENT_ON_DARK, INK, SECTIONS


def colour(rank: int) -> str:
    """The colour of the section of that rank; after six they come round again."""
    return SECTIONS[rank % len(SECTIONS)]


def rgb(text: str) -> tuple[int, int, int]:
    """``#rrggbb`` as three numbers."""
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def accent_css() -> str:
    """The accent as a custom property of the page, for light and for dark."""
    return f":root {{ --accent: light-dark({ACCENT}, {ACCENT_ON_DARK}); }}\n"


def mark_svg() -> str:
    """The sign of the page in the browser's tab: a sheet with its title block, an arrow on it."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16">'
        '<rect width="16" height="16" fill="#fff"/>'
        f'<path d="M2 2h12v12H2zM2 11h12M9 11v3" fill="none" stroke="{INK}"/>'
        f'<path d="M4 8 8 4l4 4" fill="none" stroke="{ACCENT}" stroke-width="1.4"/></svg>\n'
    )
