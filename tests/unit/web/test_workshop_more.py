"""The sheet Workshop shows nozzles, plates, drying, dryers and absences as fields, escaped and by name."""

from __future__ import annotations

from pathlib import Path

from planner.web.state import read_state
from planner.web.views.workshop_more import more_shown
from tests.unit.web.page_desk import WORKSHOP, airframe_in, client_of, desk_at

MORE = """
[dryer]
count = 2

[[filament]]
name = "PA"
needs_drying = true
dry_c = 80
dry_hours = 12
open_hours = 48
nozzle_mm = 0.6
hardened_nozzle = true
plate = "glass"

[[spool]]
name = "pa <1>"
filament = "PA"
grams_left = 300
colour = "red"
lot = "L7"
dried = 2026-12-01T06:30:00
away = [{ from = 2026-12-03, why = "<b>lent</b>" }]
"""
FITTED = WORKSHOP.replace(
    'like = "desktop 220"',
    'count = 2\nnozzles = ["0.6 hardened"]\nplate = "a"\nplates = ["b"]\nlike = "desktop 220"',
)


def test_rows_are_told_in_words(tmp_path: Path) -> None:
    """Printers of one row by its name; a filament that asks for nothing has no words of asking."""
    folder = airframe_in(desk_at(tmp_path))
    (folder / "workshop.toml").write_text(FITTED + MORE, encoding="utf-8")
    more = more_shown(read_state(folder))
    assert more["told"][("printer", "desk")] == "0.4 mm, a; also 0.6 mm hardened, b"
    assert more["told"][("filament", "PA")] == (
        "dried before it is printed, 80 C for 12 h, stays dry 48 h, nozzle 0.6 mm, hardened nozzle, glass"
    )
    assert more["aways"] == [
        {"kind": "spool", "name": "pa <1>", "since": "2026-12-03", "until": "", "why": "<b>lent</b>"}
    ]
    assert more["may_be_away"] == {"printer": ["desk"], "filament": ["PA", "PLA"], "spool": ["pa <1>"]}


def test_the_sheet_has_a_field_for_each(tmp_path: Path) -> None:
    """What the file says stands in it; names are escaped."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    (folder / "workshop.toml").write_text(FITTED + MORE, encoding="utf-8")
    try:
        shown = client_of(desk).get("/a/glider/workshop").text
    finally:
        desk.close()
    for told in (
        'value="0.6 hardened"', 'id="printer_desk-plates"', 'id="dryer-count"', 'id="dryer-spools"',
        'id="filament_PA-open_hours"', 'value="2026-12-01 06:30"', 'value="L7"', 'data-do="remove_away"',
        'value="filament/PLA"', "&lt;b&gt;lent&lt;/b&gt;", "spool pa &lt;1&gt;, away from 2026-12-03",
    ):  # fmt: skip
        assert told in shown, told
    assert "<b>lent" not in shown
    assert "pa <1>" not in shown


def test_without_a_workshop_there_is_nothing_to_show(tmp_path: Path) -> None:
    """A file that cannot be read has no rows."""
    folder = airframe_in(desk_at(tmp_path))
    (folder / "workshop.toml").write_text("[[printer]]\nsize = 1\n", encoding="utf-8")
    assert more_shown(read_state(folder))["aways"] == []
