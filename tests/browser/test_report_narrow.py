"""The report on the screen of a phone: text flows, nothing scrolls sideways but a drawing by itself."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.model.plan import Plan
from planner.report.sheets.page import report_html
from tests.plan_edges import crowded_plan, hostile_plan, misfit_plan
from tests.plan_samples import sample_plan

# Elements with words of their own, outside drawings: name, right edge, size of the lettering.
WORDS = """() => [...document.body.querySelectorAll('*')]
  .filter(e => !e.closest('svg') && [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))
  .map(e => [e.tagName + ' ' + e.textContent.slice(0, 40), e.getBoundingClientRect(), getComputedStyle(e)])
  .filter(([, box]) => box.width > 0)
  .map(([name, box, style]) => [name, box.left, box.right, parseFloat(style.fontSize)])"""


@pytest.mark.slow
@pytest.mark.parametrize("width", [360, 390])
@pytest.mark.parametrize("make", [sample_plan, hostile_plan, misfit_plan, crowded_plan])
def test_report_reads_on_a_phone(make: Callable[[], Plan], width: int, browser: Any, tmp_path: Path) -> None:
    """No sideways scrolling, every word inside the screen and at least 12 px tall."""
    (tmp_path / "report.html").write_text(report_html(make()), encoding="utf-8")
    context = browser.new_context(viewport={"width": width, "height": 844}, is_mobile=True, has_touch=True)
    page = context.new_page()
    page.goto((tmp_path / "report.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    told = page.evaluate(WORDS)
    assert len(told) > 50
    for name, left, right, size in told:
        assert left >= 0.0, name
        assert right <= width + 0.5, name
        assert size >= 12.0, name
    context.close()
