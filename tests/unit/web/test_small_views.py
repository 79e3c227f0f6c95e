"""What the page shows of results, studies, parts and colours, as plain values."""

from __future__ import annotations

import re
import zipfile
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from lxml import etree

from planner.errors import RecordError
from planner.model.budget import Move
from planner.report.layout.colours import ACCENT, ACCENT_ON_DARK, SECTIONS
from planner.tradeoffs.alternatives import Totals
from planner.tradeoffs.single_changes import SingleChange
from planner.tradeoffs.study import Study, Wishes
from planner.web.routes.results import archive, kind_of, result_file, result_files
from planner.web.state import State, read_state
from planner.web.views.changes import changes_view, wishes_from
from planner.web.views.palette import accent_css, colour, mark_svg, rgb
from planner.web.views.plan_stamp import plan_stamp
from planner.web.views.shown import parts_shown, recipes_shown, spot_of, workshop_rows, workshop_top
from planner.web.workspace import RESULTS, NotHere
from tests.plan_samples import sample_plan
from tests.unit.web.page_desk import airframe_in, desk_at


@pytest.fixture(name="results")
def _results(tmp_path: Path) -> Path:
    """An airframe folder with some results, and a secret beside them."""
    folder = tmp_path / "glider"
    for name in ("plan.json", "written.json", "report.html", "bed_plans/01_bed_1.svg", "beds/01.3mf"):
        (folder / RESULTS / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / RESULTS / name).write_text(f"<{name}>", encoding="utf-8")
    (folder / "secret.txt").write_text("secret", encoding="utf-8")
    return folder


def test_results_are_listed_in_order_with_their_sizes(results: Path) -> None:
    """Without the list that says which are ours; nothing at all where no plan is whole."""
    assert result_files(results) == [
        ("bed_plans/01_bed_1.svg", 24), ("beds/01.3mf", 13), ("plan.json", 11), ("report.html", 13)
    ]  # fmt: skip
    (results / RESULTS / "plan.json").unlink()
    assert result_files(results) == []
    assert result_files(results.parent) == []


@pytest.mark.parametrize(
    "inside",
    ["../secret.txt", "written.json", "/etc/passwd", "", "beds", "bed_plans/../plan.json", "PLAN.json\0"],
)
def test_only_what_is_listed_is_given_out(inside: str, results: Path) -> None:
    assert result_file(results, "beds/01.3mf") == results / RESULTS / "beds/01.3mf"
    with pytest.raises(NotHere):
        result_file(results, inside)


def test_kinds_of_files() -> None:
    """As they are registered (Source: IANA media types); what nobody knows is plain bytes."""
    told = {"a.3mf": "model/3mf", "a.ics": "text/calendar", "a.svg": "image/svg+xml", "a.stl": "model/stl",
            "a.html": "text/html", "a.json": "application/json", "a.csv": "text/csv",
            "a.nobody": "application/octet-stream", "a": "application/octet-stream"}  # fmt: skip
    assert {name: kind_of(Path(name)) for name in told} == told


def test_all_results_in_one_archive(results: Path) -> None:
    """Under the name of the airframe, from its beginning, each as it is."""
    with archive(results) as made, zipfile.ZipFile(made) as opened:
        assert opened.testzip() is None
        assert opened.namelist() == [f"glider/{name}" for name, _ in result_files(results)]
        assert opened.read("glider/beds/01.3mf") == b"<beds/01.3mf>"


def test_wishes_as_the_command_line_takes_them() -> None:
    """Empty fields are nothing; a mass is a number; only a true tick is one."""
    nothing = {"mass_at_most_g": None, "finish_by": None, "cost_at_most": None, "balance_inside": False}
    assert wishes_from({}) == wishes_from({"finish": " ", "cost": "", "balance": "true"}) == nothing
    assert wishes_from({"mass": 640, "finish": " 2026-12-05 ", "cost": "40 EUR", "balance": True}) == {
        "mass_at_most_g": 640.0, "finish_by": "2026-12-05", "cost_at_most": "40 EUR", "balance_inside": True
    }  # fmt: skip


@pytest.mark.parametrize("mass", ["640", True, [], {}])
def test_a_mass_that_is_no_number_is_refused(mass: object) -> None:
    with pytest.raises(RecordError) as caught:
        wishes_from({"mass": mass})
    assert (caught.value.where, caught.value.what) == ("mass", f"{mass!r} must be a number of grams.")


def test_a_study_as_it_is_shown() -> None:
    """Single changes with what taking one would set: both of two twins; where fittings go."""
    plan = sample_plan()
    change = SingleChange(("fin", "hatch"), "skin", "thin, PLA", 2.5, 90.0, 120, 0.25)
    row: Any = SimpleNamespace(part="fin", name="thin, PLA")
    move = Move("battery", 186.0, -95.00049, 12.34)
    proposal: Any = SimpleNamespace(
        changed=(row,), moves=(move,), proved=True, totals=Totals(801.0, 60.0, 9950, None)
    )
    study = Study(
        plan, Wishes(mass_g=810.0), {"fin": ("skin, PLA", "thin, PLA")}, (change,), (), proposal=proposal,
        after=replace(plan, mass=replace(plan.mass, total_g=801.25)),
    )  # fmt: skip
    view = changes_view(study)
    assert view["proposal"] == [{"part": "fin", "planned": "skin, PLA", "instead": "thin, PLA"}]
    assert view["moves"] == [{"fitting": "battery", "station_mm": -95.0, "to_mm": -82.7}]
    assert view["singles"][0]["rows"] == [
        ["fin and hatch", "thin, PLA", "2.5", "+1.5", "+1.20", "+0.2",
         [{"part": "fin", "instead": "thin, PLA"}, {"part": "hatch", "instead": "thin, PLA"}]]
    ]  # fmt: skip
    assert view["singles"][1] == {"by": "money", "rows": []}
    assert (view["refused"], view["currency"]) == (False, "EUR")
    assert view["after"].startswith("801.2 g")
    assert etree.fromstring(view["front"].encode()).tag.endswith("svg")
    bare = changes_view(Study(plan, Wishes(), {}, (), (), refusal="no"))
    assert (bare["after"], bare["moves"], bare["proposal"], bare["refused"]) == (None, [], [], True)


def test_colours_come_round_after_six() -> None:
    assert [colour(n) for n in range(6)] == list(SECTIONS)
    assert colour(6) == colour(0)
    assert rgb("#0a10ff") == (10, 16, 255)
    assert all(0 <= part <= 255 for n in range(6) for part in rgb(colour(n)))
    assert accent_css() == f":root {{ --accent: light-dark({ACCENT}, {ACCENT_ON_DARK}); }}\n"
    tree = etree.fromstring(mark_svg().encode())
    assert tree.get("viewBox") == "0 0 16 16"
    assert {path.get("stroke") for path in tree.findall("{*}path")} >= {ACCENT}


def test_another_plan_has_another_stamp() -> None:
    assert plan_stamp(None) == plan_stamp({}) == ""
    first = {"identification": "ab", "made": "2026-12-01T18:00:00+00:00"}
    assert plan_stamp(first) == "ab 2026-12-01T18:00:00+00:00"
    assert plan_stamp({**first, "made": "2026-12-01T18:00:01+00:00"}) != plan_stamp(first)
    assert plan_stamp({"identification": "ab"}) == "ab"


@pytest.mark.parametrize(
    ("text", "spot"),
    [
        ("a thin wall at x 1.5, y -2, z 30.25 mm", [1.5, -2.0, 30.25]),
        ("at x 1, y 2", None),
        ("", None),
        ("x 1, y 2, z 3 and x 4, y 5, z 6", [1.0, 2.0, 3.0]),
    ],
)
def test_the_place_that_a_finding_names(text: str, spot: list[float] | None) -> None:
    assert spot_of(text) == spot


@pytest.fixture(name="state")
def _state(tmp_path: Path) -> State:
    return read_state(airframe_in(desk_at(tmp_path)))


def test_parts_by_section_in_build_order(state: State) -> None:
    """Sizes in mm, figures where they are reckoned; said once what look and estimate both say."""
    measures = {
        "parts": {
            "hull": {"mass_g": 12.345, "minutes": 90.0, "findings": [["thin at x 1, y 2, z 3", "doubt"]] * 2},
            "rib 1": {"mass_g": 1.0, "minutes": None},
        }
    }
    shown = parts_shown(state, measures)
    assert list(shown) == ["left wing", "fuselage"]
    assert [row.name for row in shown["left wing"]] == ["rib 1", "rib 2"]
    hull = shown["fuselage"][0]
    assert (hull.size, hull.mass, hull.hours, hull.rank, hull.colour) == (
        "40 x 13 x 3.0",
        "12.3 g",
        "1 h 30",
        1,
        colour(1),
    )
    assert [one for one in hull.findings if one["text"].startswith("thin")] == [
        {"text": "thin at x 1, y 2, z 3", "weight": "doubt", "spot": [1.0, 2.0, 3.0]}
    ]
    rib = shown["left wing"][0]
    assert (rib.mass, rib.hours, rib.copies, rib.chosen) == ("1.0 g", "", 2, True)
    assert (shown["left wing"][1].mass, shown["left wing"][1].pose) == ("", None)
    assert parts_shown(state, None)["fuselage"][0].mass == ""


def test_nothing_is_shown_of_what_cannot_be_read(state: State) -> None:
    """Nor before the meshes were looked at."""
    broken = replace(state, airframe_text="[airframe")
    assert parts_shown(broken, None) == {}
    assert recipes_shown(broken) == []
    assert workshop_rows(broken) == {"printer": [], "filament": [], "spool": []}
    assert workshop_top(broken) == {}
    assert parts_shown(replace(state, look=None), None) == {}


def test_recipes_that_are_used_come_first_then_those_of_the_file(state: State) -> None:
    text = (state.airframe_text or "") + '\n[recipe.mine]\nlike = "skin"\nwalls = 3\n'
    rows = recipes_shown(replace(state, airframe_text=text))
    assert [(row["name"], row["used"]) for row in rows] == [("plain", True), ("mine", False)]
    assert rows[1]["values"]["walls"] == 3


def test_the_workshop_as_it_is_written(state: State) -> None:
    """Its rows by kind, its own values apart."""
    rows, top = workshop_rows(state), workshop_top(state)
    assert rows == {"printer": [{"name": "desk", "like": "desktop 220"}], "filament": [], "spool": []}
    assert top == {"currency": "EUR", "energy_price": "0.30 EUR"}
    assert re.fullmatch(r"[0-9a-f]{16}", state.revision)
