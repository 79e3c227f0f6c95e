"""The report: one self-contained HTML file of A4 sheets, to read on a screen and to print."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING

from planner.model.plan import Plan
from planner.report.exports.plan_json import plan_hash
from planner.report.layout import colours
from planner.report.layout.sheets import Sheet
from planner.report.lookup import Lookup
from planner.report.plain import clean
from planner.report.sheets.sheet_list import printed_sheets, sheets_of
from planner.report.words import local
from planner.version import __version__

if TYPE_CHECKING:
    import jinja2


def report_html(plan: Plan, identification: str | None = None, look: Lookup | None = None) -> str:
    """The whole report as HTML 5: inline style and drawings, no script, nothing fetched.

    Parameters
    ----------
    identification : the plan's hash where it is known already
    look : of the plan, where there is one already
    """
    look = look or Lookup(plan)
    return sheets_html(plan, printed_sheets(look), identification or plan_hash(plan))


def answers_html(plan: Plan) -> str:
    """The sheet of answers alone, as a page of its own."""
    return sheets_html(plan, sheets_of(Lookup(plan), "answers"), plan_hash(plan))


@cache
def _template() -> jinja2.Template:
    """The page, read once in a process and compiled once on a computer."""
    import jinja2

    from planner.report.sheets.kept_templates import KeptTemplates

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("planner.report", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
        bytecode_cache=KeptTemplates(),
    )
    return environment.get_template("page.html.j2")


def sheets_html(plan: Plan, sheets: Sequence[Sheet], identification: str) -> str:
    """Sheets of a plan as one page."""
    page = _template().render(
        title=plan.airframe.name,
        colours=colours,
        sheets=sheets,
        issued=f"{local(plan.start, plan):%Y-%m-%d}",
        version=__version__,
        identification=identification[:8],
    )
    return clean(page)
