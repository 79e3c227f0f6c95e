"""The accent of what needs action: one value, read on paper, on the page and in grey."""

import re
from pathlib import Path

import pytest

import planner
from planner.report.layout import colours
from planner.report.sheets.page import report_html
from planner.web.views.palette import accent_css, mark_svg
from tests.plan_samples import sample_plan

ROOM = Path(planner.__file__).parent
PAGE_CSS = (ROOM / "web" / "static" / "page.css").read_text(encoding="utf-8")


def luminance(colour: str) -> float:
    """Relative luminance (Source: WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return sum(w * v for w, v in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    """Contrast ratio (Source: WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def of_page(name: str) -> tuple[str, str]:
    """A colour of the page by day and by night."""
    found = re.search(rf"--{name}: light-dark\((#\w{{6}}), (#\w{{6}})\)", PAGE_CSS)
    assert found is not None, name
    return found.group(1), found.group(2)


def test_ratio_is_that_of_the_standard() -> None:
    """Black on white is 21, and #767676 on white the usual example of 4.54."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def test_accent_is_read_on_paper() -> None:
    """Enhanced contrast (7) on white, and at least 6 on the greys that words may stand on."""
    assert contrast(colours.ACCENT, "#ffffff") >= 7.0
    for ground in ("#eceff2", "#e6eaef", "#e4e7eb"):  # table, night, window
        assert contrast(colours.ACCENT, ground) >= 6.0


def test_accent_is_read_on_the_page_by_day_and_by_night() -> None:
    """Words in the accent and words on a button of it have a contrast of 7 in both schemes."""
    for name in ("paper", "table", "soft", "field", "on-accent"):
        by_day, by_night = of_page(name)
        assert contrast(colours.ACCENT, by_day) >= 7.0, name
        assert contrast(colours.ACCENT_ON_DARK, by_night) >= 7.0, name


def test_accent_stands_out_in_grey() -> None:
    """Without colour it is told from the ink and from every section: steps of luminance, 1.5 at least."""
    for other in (colours.INK, *colours.SECTIONS):
        assert contrast(colours.ACCENT, other) >= 1.5, other
    assert contrast(colours.ACCENT_ON_DARK, of_page("ink")[1]) >= 1.5


def test_accent_is_a_plum() -> None:
    """Red and blue over green, red the stronger: neither the orange nor the reddish purple of a section."""
    for accent in (colours.ACCENT, colours.ACCENT_ON_DARK):
        red, green, blue = (int(accent[k : k + 2], 16) for k in (1, 3, 5))
        assert red > blue > green
        assert accent not in colours.SECTIONS


def test_accent_stands_in_one_place() -> None:
    """No other file writes it down; report, page and the sign in the tab take it from there."""
    sources = [p for p in ROOM.rglob("*") if p.suffix in {".py", ".css", ".js", ".html", ".j2", ".svg"}]
    for path in sources:
        if "three" in path.parts:
            continue
        text = path.read_text(encoding="utf-8").lower()
        assert "#b84300" not in text, path
        if path.name != "colours.py":
            assert colours.ACCENT not in text, path
            assert colours.ACCENT_ON_DARK not in text, path
    assert f"--accent: {colours.ACCENT};" in report_html(sample_plan())
    assert f"light-dark({colours.ACCENT}, {colours.ACCENT_ON_DARK})" in accent_css()
    assert colours.ACCENT in mark_svg()
