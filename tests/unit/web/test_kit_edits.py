"""Edits of the sheet Kit: answers land in airframe.toml, comments stay, everything is taken back."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from planner.errors import RecordError
from planner.web.edits.history import undo
from planner.web.state import read_state
from planner.web.views.kit_cards import everything
from tests.unit.web.kit_desk import asked, change, kit_on, text_of
from tests.unit.web.page_desk import desk_at

FITTED = """
[[fitting]]
name = "battery"   # with its lead
mass_g = 120

[[fitting]]
name = "servo"
mass_g = 9
station_mm = 80    # as measured
# the second servo sits beside it
"""


@pytest.fixture(scope="module")
def drafted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A raw kit that was looked at, and the draft of its record."""
    folder = kit_on(desk_at(tmp_path_factory.mktemp("kit")))
    return folder, text_of(folder)


@pytest.fixture
def kit(drafted: tuple[Path, str]) -> Path:
    """The kit as it was drafted."""
    folder, text = drafted
    (folder / "airframe.toml").write_text(text, encoding="utf-8")
    (folder / ".page" / "history.json").unlink(missing_ok=True)
    return folder


def rows(folder: Path) -> dict[str, dict[str, Any]]:
    """The rows of the parts by mesh."""
    return {row["mesh"]: row for row in tomllib.loads(text_of(folder))["part"]}


def titled(folder: Path, words: str) -> Any:
    """The card whose title holds these words."""
    (card,) = [one for one in asked(folder) if words in one.title]
    return card


def test_a_yes_turns_the_line_that_asked_into_the_key_with_its_reason(kit: Path) -> None:
    """The question is gone from the file, its head counts one less, everything else is as it was."""
    before = text_of(kit)
    change(kit, "answer", **titled(kit, "Leave it out").buttons[0].given)
    after = text_of(kit)
    assert rows(kit)["drilling jig.stl"]["copies"] == 0
    assert 'copies = 0 # "jig": a jig does not fly' in after
    assert "# copies = 0  # not sure" not in after
    assert '# 3 lines are marked "not sure"' in after
    kept = [line for line in before.splitlines() if "jig" not in line and "lines are" not in line]
    assert [line for line in kept if line not in after.splitlines()] == []


def test_a_no_is_remembered_in_the_file_and_not_asked_again(kit: Path) -> None:
    """As a comment in the row, which a person can read; taken back, it is asked again."""
    change(kit, "answer", **titled(kit, "Leave it out").buttons[1].given)
    assert "# copies = 0  # asked, and not so" in text_of(kit)
    assert rows(kit)["drilling jig.stl"]["copies"] == 1
    assert not [card for card in asked(kit) if "Leave it out" in card.title]
    undo(kit)
    assert titled(kit, "Leave it out")


def test_the_alternative_that_is_built_is_the_choice_of_the_option(kit: Path) -> None:
    """One press; the other one is not part of the airframe then."""
    change(kit, "answer", **titled(kit, "2 alternatives").buttons[1].given)
    assert tomllib.loads(text_of(kit))["options"] == {"nose": "plain"}
    records = read_state(kit).records
    assert records is not None
    assert [p.name for p in records.airframe.parts if not records.airframe.chosen(p.option)] == [
        "nose camera"
    ]
    assert not [card for card in asked(kit) if "alternatives" in card.title]


def test_parts_that_are_no_alternatives_lose_their_option(kit: Path) -> None:
    """All of them are built: the rows say no option, and nobody asks again."""
    change(kit, "answer", **titled(kit, "2 alternatives").buttons[2].given)
    assert all("option" not in row for row in rows(kit).values())
    assert text_of(kit).count('option = {nose = "plain"}  # asked, and not so') == 1
    assert not [card for card in asked(kit) if "alternatives" in card.title]


def test_a_stack_is_taken_in_its_order_with_the_beginning_that_was_said(kit: Path) -> None:
    """The block of comments that asked for it gives way to the row; the examples after it stay."""
    card = titled(kit, "follow one another")
    given = dict(card.buttons[0].given)
    change(kit, "answer", **{**given, "stacks": [{**given["stacks"][0], "start_mm": -120.5}]})
    told = tomllib.loads(text_of(kit))
    assert told["stack"] == [{"name": "fuselage", "direction": "aft", "start_mm": -120.5}]
    assert [rows(kit)[f"fuselage_{n}.stl"]["stack"]["order"] for n in (1, 2)] == [0, 1]
    text = text_of(kit)
    assert "[[stack]]  # not sure" not in text
    assert text.index("start_mm = -120.5 # as said on the sheet Kit") < text.index('# "lightest class" = 250')
    assert "# its parts are marked above" not in text


def test_accepting_everything_leaves_what_needs_a_number(kit: Path) -> None:
    """One edit, taken back at once."""
    before = text_of(kit)
    change(kit, "answer", **everything(asked(kit)))
    assert [card.start_of for card in asked(kit)] == ["fuselage"]
    undo(kit)
    assert text_of(kit) == before


def test_the_last_line_that_was_not_sure_takes_the_count_with_it(kit: Path) -> None:
    """Nothing is marked any more, and the head of the file does not say so."""
    change(kit, "answer", **everything(asked(kit)))
    change(kit, "answer", **asked(kit)[0].buttons[1].given)
    change(kit, "stack", stack="fuselage", key="start_mm", value=0)
    assert asked(kit) == ()
    assert "not sure" not in text_of(kit)
    assert text_of(kit).startswith("# Drafted from the meshes")


def test_several_parts_are_changed_in_one_edit(kit: Path) -> None:
    """Section, print, filament and recipe; what is not named stays, and one undo takes all back."""
    before = text_of(kit)
    label = change(
        kit,
        "parts",
        parts=["rib 1 v2", "nose plain"],
        values={"section": "tail", "printed": False, "filament": "TPU", "recipe": "solid"},
    )
    assert label.startswith("rib 1 v2, nose plain: section tail, print no")
    for mesh in ("rib_1_v2.stl", "nose_plain.stl"):
        row = rows(kit)[mesh]
        assert (row["section"], row["copies"], row["filament"], row["recipe"]) == ("tail", 0, "TPU", "solid")
    assert rows(kit)["nose_plain.stl"]["option"] == {"nose": "plain"}
    undo(kit)
    assert text_of(kit) == before


def test_places_in_a_row_are_counted_on_by_hand(kit: Path) -> None:
    """The first gets the place that is given; the other hand shares the places."""
    names = ["rib 1 v2", "nose plain", "nose camera"]
    change(kit, "one", part="nose camera", key="hand", value="left")
    change(kit, "parts", parts=names, values={"stack": "boom", "order": 4})
    places = {mesh: row["stack"]["order"] for mesh, row in rows(kit).items() if "stack" in row}
    assert places == {"rib_1_v2.stl": 4, "nose_plain.stl": 5, "nose_camera.stl": 4}
    change(kit, "one", part="drilling jig", key="stack", value="boom")
    assert rows(kit)["drilling jig.stl"]["stack"] == {"name": "boom", "order": 6}
    change(kit, "one", part="drilling jig", key="stack", value=None)
    assert "stack" not in rows(kit)["drilling jig.stl"]


def test_an_option_without_its_choice_is_not_left_behind(kit: Path) -> None:
    """The reader would refuse it: the last row of a choice takes the choice with it."""
    change(kit, "answer", **titled(kit, "2 alternatives").buttons[0].given)
    change(kit, "parts", parts=["nose camera", "nose plain"], values={"option": None})
    told = tomllib.loads(text_of(kit))
    assert told.get("options", {}) == {}
    change(kit, "parts", parts=["nose camera"], values={"option": "front", "choice": "long"})
    assert rows(kit)["nose_camera.stl"]["option"] == {"front": "long"}


def test_a_tick_leaves_out_and_prints_again(kit: Path) -> None:
    """A part that was left out as an older version is printed once more."""
    change(kit, "one", part="rib 1", key="printed", value=True)
    assert rows(kit)["rib_1.stl"]["copies"] == 1
    change(kit, "one", part="rib 1", key="printed", value=False)
    assert rows(kit)["rib_1.stl"]["copies"] == 0


def test_a_fitting_is_moved_and_its_comments_stay(kit: Path) -> None:
    """By its row, to a tenth; a new key stands before the comments at the end of the row."""
    (kit / "airframe.toml").write_text(text_of(kit) + FITTED, encoding="utf-8")
    change(kit, "fitting", fitting=0, name="battery", key="station_mm", value=-41.26)
    change(kit, "fitting", fitting=1, name="servo", key="up_mm", value=12)
    text = text_of(kit)
    assert 'name = "battery"   # with its lead\nmass_g = 120\nstation_mm = -41.3\n' in text
    assert "station_mm = 80    # as measured\nup_mm = 12.0\n# the second servo sits beside it" in text
    change(kit, "fitting", fitting=1, name="servo", key="station_mm", value=None)
    assert "station_mm = 80" not in text_of(kit)


def test_a_fitting_that_is_another_one_by_now_is_not_moved(kit: Path) -> None:
    """Another tab took the row out: the station must not go to its neighbour."""
    (kit / "airframe.toml").write_text(text_of(kit) + FITTED, encoding="utf-8")
    for number, name in ((0, "servo"), (7, "battery"), (-1, "servo")):
        with pytest.raises(RecordError, match="at that place of the file"):
            change(kit, "fitting", fitting=number, name=name, key="station_mm", value=1.0)


def test_a_fitting_of_the_table_or_of_its_own_mass_is_added(kit: Path) -> None:
    """The page needs no line of TOML for either."""
    change(kit, "add_fitting", values={"like": "carbon tube 8 x 6", "length_mm": 900, "name": ""})
    change(kit, "add_fitting", values={"name": "motor", "mass_g": 55.5})
    assert tomllib.loads(text_of(kit))["fitting"] == [
        {"like": "carbon tube 8 x 6", "length_mm": 900},
        {"name": "motor", "mass_g": 55.5},
    ]
    assert '\n\n[[fitting]]\nname = "motor"\nmass_g = 55.5\n\n# [[stack]]  # not sure' in text_of(kit)


def test_where_a_stack_begins_is_a_field(kit: Path) -> None:
    """The row is made where there is none; wrong values are refused in the reader's words."""
    change(kit, "stack", stack="fuselage", key="start_mm", value=-80)
    change(kit, "stack", stack="fuselage", key="direction", value="forward")
    assert tomllib.loads(text_of(kit))["stack"] == [
        {"name": "fuselage", "start_mm": -80, "direction": "forward"}
    ]
    before = text_of(kit)
    for key, value, words in (
        ("direction", "sideways", "direction"),
        ("sweep_deg", 200, "sweep_deg"),
        ("name", "other", "not one of"),
    ):
        with pytest.raises(RecordError, match=words):
            change(kit, "stack", stack="fuselage", key=key, value=value)
    assert text_of(kit) == before


@pytest.mark.parametrize(
    ("do", "given", "words"),
    [
        ("parts", {"parts": [], "values": {"section": "x"}}, "nothing is chosen"),
        ("parts", {"parts": ["rib 1"], "values": {}}, "nothing is chosen"),
        ("parts", {"parts": ["no such"], "values": {"section": "x"}}, "no part 'no such'"),
        ("parts", {"parts": ["rib 1"], "values": {"mesh": "x"}}, "not one of"),
        ("parts", {"parts": ["rib 1"], "values": {"order": "third", "stack": "s"}}, "order"),
        ("parts", {"parts": ["rib 1"], "values": {"hand": "upper"}}, "hand"),
        ("answer", {"take": [["gone.stl", "section", "x", "y"]]}, "no part of the mesh"),
        ("answer", {"take": [["rib_1.stl", "name", "x", "y"]]}, "not one of"),
        ("answer", {"take": [["rib_1.stl", "recipe", "no such", "y"]]}, "no recipe"),
        ("answer", {"head": {"name": "x"}}, "not one of"),
        ("answer", {"stacks": [{"name": "s", "colour": 1}]}, "not one of"),
        ("answer", {"take": [["too", "short"]]}, "cannot be read"),
        ("add_fitting", {"values": {"name": "lead"}}, "mass_g"),
        ("add_fitting", {"values": {"colour": "red"}}, "not one of"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(
    kit: Path, do: str, given: dict[str, Any], words: str
) -> None:
    """In words, with the file as it was."""
    before = text_of(kit)
    with pytest.raises(RecordError, match=words):
        change(kit, do, **given)
    assert text_of(kit) == before


def test_reasons_of_meshes_with_odd_names_stay_on_one_line(kit: Path) -> None:
    """A name may hold a line end; the comment must not."""
    change(kit, "answer", take=[["rib_1.stl", "section", "tail", "like\n[[part]]\nmesh = 1"]])
    assert 'section = "tail" # like [[part]] mesh = 1' in text_of(kit)
    assert len(rows(kit)) == 7
