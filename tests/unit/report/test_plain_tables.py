"""Tables and lists for the terminal, and what is to be bought."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.model.airframe import Fitting
from planner.model.batch import Unplaced
from planner.model.finding import Finding
from planner.model.mesh_check import FolderCheck, MeshCheck
from planner.model.plan import SetAside
from planner.model.schedule import SpoolUse
from planner.report.layout.letter_widths import units
from planner.report.shopping import ToBuy, shopping_list, spools_to_buy, total_minor, without_price
from planner.report.text.check_text import check_text
from planner.report.text.table_text import table_lines
from tests.plan_samples import sample_plan

MESH = MeshCheck("rib.stl", 1200, (10.04, 20.0, 3.35), 1.25, True, ("desk",), None, ())


def test_what_is_to_be_bought_by_hand():
    """Two spools of one price are a line, one of another price another; fittings that do not fly are none."""
    spools = tuple(
        SpoolUse(f"s{n}", name, bought, 1000.0, 0.0, 0.0, 0.0, price)
        for n, (name, bought, price) in enumerate(
            (
                ("PLA", True, 2500),
                ("PLA", False, 2500),
                ("PLA", True, 2500),
                ("PLA", True, 1900),
                ("TPU", True, None),
            )
        )
    )
    plan = sample_plan()
    plane = replace(
        plan.airframe,
        fittings=(
            Fitting("servo", 9.0, count=4, price_minor=690),
            Fitting("spare", 9.0, count=0),
            Fitting("motor", 50.0),
        ),
    )
    plan = replace(plan, spools=spools, airframe=plane)
    assert spools_to_buy(plan) == (
        ("PLA", 1000.0, 2, 2500), ("PLA", 1000.0, 1, 1900), ("TPU", 1000.0, 1, None)
    )  # fmt: skip
    found = shopping_list(plan)
    assert found == (
        ToBuy("PLA, spool of 1000 g", "filament", 2, 2500),
        ToBuy("PLA, spool of 1000 g", "filament", 1, 1900),
        ToBuy("TPU, spool of 1000 g", "filament", 1, None),
        ToBuy("servo", "fitting", 4, 690),
        ToBuy("motor", "fitting", 1, None),
    )
    assert [item.amount_minor for item in found] == [5000, 1900, None, 2760, None]
    assert total_minor(found) == 9660
    assert without_price(found) == ("TPU, spool of 1000 g", "motor")


def test_a_look_at_meshes_word_for_word():
    """One line a mesh, what is wrong with it below, then the folder."""
    long = replace(
        MESH,
        mesh="a_very_long_name_of_a_fuselage_part.stl",
        misfit=Unplaced("p", "x", 12.34, "turn it"),
        findings=(Finding("p", "look at it", "fault"),),
    )
    found = check_text(
        FolderCheck((MESH, long), (SetAside("x.stl", "empty"),), (Finding("kit", "odd"),), ("hours are UTC",))
    )
    assert (
        found.splitlines()
        == [
            "2 usable meshes, 1 set aside",
            "",
            "mesh                                            size mm      cm3   facets  fits",
            "rib.stl                              10.0 x 20.0 x 3.4      1.2     1200  yes",
            "a_very_long_name_of_a_fuselage_...   10.0 x 20.0 x 3.4      1.2     1200  no",
            "  fits nowhere: 12.3 mm short in x; turn it",
            "  fault: look at it",
            "set aside   x.stl: empty",
            "doubt       kit: odd",
            "assumed     hours are UTC",
        ]
        or [line.split() for line in found.splitlines()][3][-1] == "yes"
    )
    assert max(map(len, found.splitlines())) <= 80
    assert check_text(FolderCheck((MESH,), (), (), ())).splitlines()[0] == "1 usable mesh, 0 set aside"
    assert check_text(FolderCheck((), (), (), ())).splitlines() == ["0 usable meshes, 0 set aside"]


@pytest.mark.parametrize(
    ("misfit", "aside", "clean"),
    [(None, (), True), (Unplaced("p", "x", 1.0, ""), (), False), (None, (SetAside("x", "y"),), False)],
)
def test_whether_a_folder_is_clean(misfit, aside, clean):
    """Every mesh can be used and fits somewhere."""
    assert FolderCheck((replace(MESH, misfit=misfit),), aside, (), ()).clean is clean


def test_a_table_and_its_sources():
    """Rows of one source share it; numbers stand to the right."""
    rows = [(("PLA", "1.24"), "a page"), (("nylon", "1.1"), "a page"), (("foam", "0.6"), "")]
    assert table_lines(("filament", "g/cm3"), rows).splitlines() == [
        "filament  g/cm3",
        "PLA        1.24",
        "nylon       1.1",
        "    a page",
        "foam        0.6",
    ]


def test_a_table_keeps_to_eighty_columns():
    """A name that is too long goes on in lines of its own, its numbers on the last."""
    rows = [(("word " * 20, "1", "2"), "source " * 30)]
    lines = table_lines(("name", "one", "two"), rows).splitlines()
    assert max(map(len, lines)) <= 80
    assert "".join(lines).count("word") == 20
    assert lines[2].split()[-2:] == ["1", "2"]
    assert [line for line in lines if line.startswith("    source")]


@pytest.mark.parametrize(
    ("text", "width"),
    [
        ("", 0.0),
        ("i", 278.0),  # both faces have 222 and 278
        ("W", 989.0),
        ("iW", 1267.0),
        ("é", 615.0),  # as wide as its letter
        ("e\u0301", 615.0),
        ("\u4e2d", 1110.0),
    ],
)
def test_letters_are_as_wide_as_the_widest_face_sets_them(text, width):
    """The wider of two measured faces, and a percent on the safe side."""
    assert units(text) == pytest.approx(1.01 * width)
