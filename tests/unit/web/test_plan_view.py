"""What the page keeps of a plan."""

from __future__ import annotations

from dataclasses import replace

import pytest
from lxml import etree

from planner.model.assembly import Silhouette
from planner.report.layout.colours import SECTIONS
from planner.web.views.card import card
from planner.web.views.plan_view import gauges, plan_view
from tests.plan_samples import sample_plan

SQUARE = ((0.0, -100.0), (50.0, -100.0), (50.0, 100.0), (0.0, 100.0))


@pytest.fixture(scope="module")
def seated():
    """The sample with a square of 50 x 200 mm as the outline of its first piece."""
    plan = sample_plan()
    turn = (1.0, 0.0, 0.0, 0.0, -1.0, 0.0, 0.0, 0.0, 1.0)
    first = Silhouette(plan.pieces[0].name, (SQUARE,), (SQUARE,), turn, (5.0, 0.0, 7.0))
    return replace(plan, silhouettes=(first,))


def test_the_card_shows_the_airframe_from_above_to_scale(seated) -> None:
    """Four times as wide as it is long, nose up; no style and no script in it."""
    told = card(seated)
    assert told["title"] == seated.airframe.name
    drawing = etree.fromstring(told["outline"].encode())
    width, height = (float(v) for v in drawing.get("viewBox").split()[2:])
    assert (width - 2.0) / (height - 2.0) == pytest.approx(4.0, rel=0.01)
    assert "style" not in told["outline"]


def test_a_plan_without_seats_has_no_outline() -> None:
    """Then the card shows pictures of meshes, and there is nothing to put together."""
    plan = sample_plan()
    assert card(plan)["outline"] == ""
    assert plan_view(plan)["assembled"]["pieces"] == []


def test_pieces_are_put_together_by_their_seats(seated) -> None:
    """Turn and shift as planned, the colour of the piece's own section, the balance beside them."""
    told = plan_view(seated)["assembled"]
    (piece,) = told["pieces"]
    assert (piece["turn"][4], piece["shift"]) == (-1.0, [5.0, 0.0, 7.0])
    assert piece["colour"] in SECTIONS
    assert told["balance"][0] == seated.balance.station_mm


def test_gauges_come_for_both_widths(seated) -> None:
    """Each of them once wide and once narrow, in the mass sheet, too."""
    assert all(svg.count("on-wide") == svg.count("on-narrow") == 1 for svg in gauges(seated, 120.0).values())
    assert plan_view(seated)["balance"].count("on-narrow") == 2


def test_a_name_with_markup_stays_text() -> None:
    """The name of a piece reaches the drawings escaped, and the outline not at all."""
    plan = sample_plan()
    evil = replace(plan.pieces[0], name='<script>alert("x")</script>')
    plan = replace(plan, pieces=(evil,), silhouettes=(Silhouette(evil.name, (SQUARE,), (SQUARE,)),))
    assert "<script" not in card(plan)["outline"]
