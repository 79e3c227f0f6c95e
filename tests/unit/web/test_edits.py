"""Edits are read as files are read; comments stay; nothing wrong is saved; all of it can be taken back."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from planner.errors import InputError, RecordError
from planner.io.toml_file import parse_toml
from planner.model.recipe import Recipe
from planner.web.edits.edit_workshop import people_of, week_of
from planner.web.edits.edits import edit
from planner.web.edits.history import last_label, undo
from planner.web.state import read_state
from tests.unit.web.page_desk import AIRFRAME, WORKSHOP, airframe_in, client_of, desk_at


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An airframe folder that was looked at."""
    return airframe_in(desk_at(tmp_path))


def made(folder: Path, do: str, **given: Any) -> str:
    """One edit of the folder as it stands."""
    return edit(read_state(folder), do, given)


def part(folder: Path, name: str) -> Any:
    """A part as the files say it now."""
    records = read_state(folder).records
    assert records is not None
    return next(p for p in records.airframe.parts if p.name == name)


def test_a_recipe_is_chosen_for_one_part_and_every_comment_stays(folder: Path) -> None:
    """The row of the part gets the key; all other lines are what they were."""
    made(folder, "part", part="hull", key="recipe", value="solid")
    text = (folder / "airframe.toml").read_text(encoding="utf-8")
    assert part(folder, "hull").recipe.name == "solid"
    assert [line for line in text.splitlines() if line in AIRFRAME.splitlines()] == AIRFRAME.splitlines()


def test_a_part_that_shares_a_row_gets_its_own_and_the_others_stay(folder: Path) -> None:
    """A pattern speaks for rib 1 and rib 2; only rib 2 changes, and keeps section and copies."""
    made(folder, "part", part="rib 2", key="filament", value="PETG")
    assert (part(folder, "rib 2").filament, part(folder, "rib 2").section, part(folder, "rib 2").copies) == (
        "PETG",
        "left wing",
        2,
    )
    assert part(folder, "rib 1").filament == "PLA"


@pytest.mark.parametrize(
    ("name", "key", "value"), [("copies", "copies", 3), ("hand", "hand", "left"), ("mirror", "mirror", True)]
)
def test_copies_hand_and_mirror_change_one_at_a_time(tmp_path: Path, name: str, key: str, value: Any) -> None:
    """What a file's name suggests for the other two stays when one is chosen."""
    folder = airframe_in(desk_at(tmp_path))
    (folder / "hull.stl").rename(folder / "skid_x4.stl")
    (folder / "airframe.toml").write_text(
        AIRFRAME.replace('[[part]]\nmesh = "hull.stl"\nsection = "fuselage"\n', ""), encoding="utf-8"
    )
    from planner.web.jobs.worker_tasks import look
    from planner.web.state import stamp_of

    look(str(folder), stamp_of(folder), lambda *told: None)
    before = part(folder, "skid x4")
    made(folder, "part", part="skid x4", key=key, value=value)
    after = part(folder, "skid x4")
    changed = {k for k in ("copies", "hand", "mirror") if getattr(before, k) != getattr(after, k)}
    assert changed == {key}
    assert getattr(after, key) == value


def test_a_whole_section_is_chosen_at_once(folder: Path) -> None:
    """Every part of it, and no other."""
    made(folder, "section", section="left wing", key="filament", value="PETG")
    assert [part(folder, n).filament for n in ("rib 1", "rib 2", "hull")] == ["PETG", "PETG", "PLA"]


def recipe_of(folder: Path, name: str = "plain") -> Recipe:
    """A recipe as the parts use it now."""
    records = read_state(folder).records
    assert records is not None
    return next(p.recipe for p in records.airframe.parts if p.recipe.name == name)


def test_a_wall_takes_the_place_of_a_bead_width_and_back(folder: Path) -> None:
    """Whichever is written last goes into the file, the other one out of it."""
    own = lambda: parse_toml((folder / "airframe.toml").read_text("utf-8"), "a").values["recipe"]["plain"]  # noqa: E731
    made(folder, "recipe", recipe="plain", key="bead_width_mm", value=0.5)
    made(folder, "recipe", recipe="plain", key="wall_mm", value=0.42)
    assert own() == {"like": "plain", "wall_mm": 0.42}
    assert recipe_of(folder).bead_width_mm == pytest.approx(0.42)
    made(folder, "recipe", recipe="plain", key="bead", value="full")
    assert recipe_of(folder).bead_width_mm == pytest.approx(0.42 - 0.2 * (1.0 - math.pi / 4.0))
    made(folder, "recipe", recipe="plain", key="bead_width_mm", value=0.44)
    assert own() == {"like": "plain", "bead": "full", "bead_width_mm": 0.44}
    assert recipe_of(folder).wall_mm is None


def test_a_wall_that_is_emptied_leaves_the_bead_as_wide_as_it_was(folder: Path) -> None:
    """Also where the recipe has it from another one."""
    made(folder, "add_recipe", recipe="skinned", like="skin")
    made(folder, "recipe", recipe="skinned", key="wall_mm", value=0.41)
    made(folder, "add_recipe", recipe="child", like="skinned")
    made(folder, "part", part="hull", key="recipe", value="child")
    assert recipe_of(folder, "child").wall_mm == 0.41
    made(folder, "recipe", recipe="child", key="wall_mm", value=None)
    assert (recipe_of(folder, "child").wall_mm, recipe_of(folder, "child").bead_width_mm) == (None, 0.41)


def test_axes_are_chosen_one_at_a_time_and_make_room_for_each_other(folder: Path) -> None:
    """Never along one line; both at once from a proposal; taken out again."""

    def lies() -> tuple[str, str] | None:
        records = read_state(folder).records
        assert records is not None
        axes = records.airframe.axes
        return None if axes is None else (axes.aft, axes.up)

    made(folder, "axes", key="aft", value="-y")
    assert lies() == ("-y", "z")
    made(folder, "axes", key="up", value="y")
    assert lies() == ("z", "y")
    assert 'axes = {aft = "z", up = "y"}' in (folder / "airframe.toml").read_text(encoding="utf-8")
    made(folder, "axes", key="both", value=["x", "-z"])
    assert lies() == ("x", "-z")
    assert made(folder, "axes", key="up", value=None) == "how it lies is left to what it shows"
    assert lies() is None


@pytest.mark.parametrize(
    ("do", "given", "words"),
    [
        ("part", {"part": "hull", "key": "copies", "value": 2.5}, "must be a whole number"),
        ("part", {"part": "hull", "key": "copies", "value": 5000}, "copies = 5000"),
        ("part", {"part": "hull", "key": "copies", "value": "many"}, "must be a whole number"),
        ("part", {"part": "hull", "key": "recipe", "value": "solidd"}, "Did you mean 'solid'"),
        ("part", {"part": "hull", "key": "filament", "value": "gold"}, "the filament 'gold' is not known"),
        ("part", {"part": "hull", "key": "hand", "value": "up"}, "hand"),
        ("part", {"part": "nobody", "key": "copies", "value": 1}, "no part 'nobody'"),
        ("part", {"part": "hull", "key": "mesh", "value": "../x"}, "is not one of"),
        ("head", {"key": "target_mass_g", "value": -1}, "target_mass_g"),
        ("head", {"key": "balance_window_mm", "value": [70, 60]}, "balance_window_mm"),
        ("head", {"key": "balance_window_mm", "value": [70]}, "it needs 2"),
        ("recipe", {"recipe": "plain", "key": "layer_height_mm", "value": 9}, "layer_height_mm"),
        ("recipe", {"recipe": "plain", "key": "wall_mm", "value": 0.1}, "wall_mm = 0.1"),
        ("recipe", {"recipe": "plain", "key": "bead", "value": "oval"}, "bead"),
        ("axes", {"key": "aft", "value": "w"}, "axes.aft"),
        ("axes", {"key": "both", "value": ["x", "-x"]}, "lie along one axis"),
        ("axes", {"key": "both", "value": ["x"]}, "cannot be read"),
        ("axes", {"key": "right", "value": "y"}, "is not one of"),
        ("option", {"option": "nose", "choice": "x"}, "options.nose"),
        ("add_recipe", {"recipe": "mine", "like": "nothing"}, "to be like"),
        ("set_row", {"kind": "printer", "row": 0, "key": "count", "value": 0}, "count = 0"),
        ("set_row", {"kind": "printer", "row": 7, "key": "count", "value": 1}, "no printer 7"),
        ("add_row", {"kind": "printer", "values": {"name": "x", "like": "unheard of"}}, "to be like"),
        ("add_row", {"kind": "spool", "values": {"name": "1", "filament": "gold", "grams_left": 5}}, "gold"),
        ("add_row", {"kind": "filament", "values": {"name": "x", "like": "PLA", "price": "cheap"}}, "price"),
        ("week", {"week": {"mon": "22:30-17:30"}}, "ends before it begins"),
        ("week", {"week": {"mon": "evening"}}, "is not a span of hours"),
        ("top", {"key": "time_zone", "value": "Mars/Base"}, "time zone database"),
        ("top", {"key": "colour", "value": "x"}, "is not one of"),
        ("text", {"file": "airframe.toml", "text": "[airframe"}, "not valid TOML"),
        ("text", {"file": "../x.toml", "text": ""}, "only"),
        ("unheard", {}, "no edit"),
        ("part", {"nonsense": 1}, "cannot be read"),
    ],
)  # fmt: skip
def test_a_wrong_edit_is_refused_in_the_words_of_the_reader_and_not_saved(
    folder: Path, do: str, given: dict[str, Any], words: str
) -> None:
    """Both files stay as they are to the byte, and there is nothing to take back."""
    with pytest.raises(RecordError) as caught:
        made(folder, do, **given)
    assert words in str(caught.value)
    assert (folder / "airframe.toml").read_text(encoding="utf-8") == AIRFRAME
    assert (folder / "workshop.toml").read_text(encoding="utf-8") == WORKSHOP
    assert last_label(folder) == ""


def test_printers_filaments_spools_and_values_are_written_with_comments_kept(folder: Path) -> None:
    """Rows are added, changed and removed; the file stays readable and its comments stay."""
    made(
        folder,
        "add_row",
        kind="printer",
        values={"name": "own", "like": "desktop 220", "bed": {"width_mm": 300, "depth_mm": 200}},
    )
    made(folder, "set_row", kind="printer", row=0, key="filaments", value=["PLA", "PETG"])
    made(folder, "add_row", kind="filament", values={"name": "grey PLA", "like": "PLA", "price": "19.00 EUR"})
    made(folder, "add_row", kind="spool", values={"name": "1", "filament": "grey PLA", "grams_left": 420.5})
    made(folder, "top", key="persons", value=2)
    state = read_state(folder)
    assert state.records is not None
    shop = state.records.workshop
    assert [p.name for p in shop.printers] == ["desk", "own"]
    assert (shop.printers[1].bed.width_mm, shop.printers[0].filaments) == (300.0, ("PLA", "PETG"))
    assert (shop.spools[0].grams_left, shop.attendance.persons) == (420.5, 2)
    made(folder, "remove_row", kind="printer", row=1)
    text = (folder / "workshop.toml").read_text(encoding="utf-8")
    assert "# the small one" in text
    assert "# per kWh" in text
    assert "own" not in text


def test_the_week_is_written_as_windows_and_read_back(folder: Path) -> None:
    """Days of the same hours share a window; dated windows stay."""
    text = WORKSHOP + '\n[[attendance]]\ndate = 2026-12-24\nfrom = "08:00"\nuntil = "12:00"\n'
    (folder / "workshop.toml").write_text(text, encoding="utf-8")
    made(folder, "week", week={"mon": "17:30-22:30", "sat": "8-12:30, 20:00-24:00", "sun": "08:00-12:30"})
    records = read_state(folder).records
    assert records is not None
    there = {(w.days, f"{w.since:%H:%M}", f"{w.until:%H:%M}") for w in records.workshop.attendance.weekly}
    assert there == {((0,), "17:30", "22:30"), ((5, 6), "08:00", "12:30"), ((5,), "20:00", "00:00")}
    assert len(records.workshop.attendance.dates) == 1


def test_the_week_of_one_person_leaves_another_with_equal_hours(folder: Path) -> None:
    """Ada and Ben are there at the same hours, and so is somebody without a name."""
    row = '\n[[attendance]]\ndays = ["mon", "tue"]\nfrom = "17:30"\nuntil = "22:30"\nperson = "{}"\n'
    (folder / "workshop.toml").write_text(WORKSHOP + row.format("Ada") + row.format("Ben"), encoding="utf-8")
    state = read_state(folder)
    assert state.records is not None
    assert people_of(state.records) == ["", "Ada", "Ben"]
    assert week_of(state.records, "Ada")["mon"] == "17:30-22:30"
    made(folder, "week", week=week_of(state.records))
    made(folder, "week", week={"mon": "17:30-22:30", "sun": "10-12"}, person="Ada")
    records = read_state(folder).records
    assert records is not None
    there = {(w.person, w.days, f"{w.since:%H:%M}") for w in records.workshop.attendance.weekly}
    assert there == {
        ("", (0, 1), "17:30"),
        ("Ada", (0,), "17:30"),
        ("Ada", (6,), "10:00"),
        ("Ben", (0, 1), "17:30"),
    }


def test_a_row_is_found_by_its_name_and_refused_when_it_is_gone(folder: Path) -> None:
    """The page showed it second; by now it stands first, or nowhere."""
    made(folder, "add_row", kind="printer", values={"name": "own", "like": "desktop 220"})
    made(folder, "remove_row", kind="printer", row=0, name="desk")
    made(folder, "set_row", kind="printer", row=1, name="own", key="count", value=3)
    text = (folder / "workshop.toml").read_text(encoding="utf-8")
    assert 'name = "own"\nlike = "desktop 220"\ncount = 3' in text
    assert 'name = "desk"' not in text
    with pytest.raises(RecordError, match="no printer 'desk' any more"):
        made(folder, "remove_row", kind="printer", row=0, name="desk")


def test_an_edit_waits_for_the_meshes_that_its_record_names(tmp_path: Path) -> None:
    """A mesh came in from outside: the page looks at it first, then the edit is made."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    (folder / "fin.stl").write_bytes((folder / "hull.stl").read_bytes())
    assert read_state(folder).wrong == ""
    given = {"part": "fin", "key": "copies", "value": 2}
    try:
        told = client_of(desk).post("/a/glider/edit", json={"do": "part", "given": given})
    finally:
        desk.close()
    assert told.status_code == 200
    assert part(folder, "fin").copies == 2


def test_edits_are_taken_back_one_after_the_other_to_the_byte(folder: Path) -> None:
    """Also across both files."""
    made(folder, "part", part="hull", key="recipe", value="solid")
    made(folder, "top", key="persons", value=2)
    made(folder, "part", part="rib 1", key="copies", value=3)
    labels = [undo(folder) for _ in range(3)]
    assert "rib 1" in labels[0]
    assert (folder / "airframe.toml").read_text(encoding="utf-8") == AIRFRAME
    assert (folder / "workshop.toml").read_text(encoding="utf-8") == WORKSHOP
    with pytest.raises(InputError, match="no edit to take back"):
        undo(folder)


def test_an_edit_is_not_taken_back_over_somebody_elses_work(folder: Path) -> None:
    """The file was changed in an editor since: it is left alone."""
    made(folder, "part", part="hull", key="recipe", value="solid")
    with (folder / "airframe.toml").open("a", encoding="utf-8") as stream:
        stream.write("# by hand\n")
    with pytest.raises(InputError, match="outside this list"):
        undo(folder)


def test_without_a_workshop_of_its_own_the_shared_one_is_edited(tmp_path: Path) -> None:
    """It lies in the workspace and serves the command line as well."""
    folder = airframe_in(desk_at(tmp_path))
    (folder / "workshop.toml").unlink()
    made(folder, "top", key="persons", value=2)
    assert "persons = 2" in (folder.parent / "workshop.toml").read_text(encoding="utf-8")
    undo(folder)
    assert not (folder.parent / "workshop.toml").exists()


def test_proposed_changes_are_taken_together_and_the_part_keeps_its_brim(folder: Path) -> None:
    """A recipe that is borrowed takes the brim of the part, under a name that says so."""
    made(folder, "recipe", recipe="plain", key="brim_mm", value=6)
    made(
        folder,
        "take",
        changes=[{"part": "hull", "instead": "solid, PETG"}, {"part": "rib 1", "instead": "plain, PETG"}],
    )
    hull = part(folder, "hull")
    assert (hull.filament, hull.recipe.brim_mm, hull.recipe.name) == ("PETG", 6.0, "solid, brim 6")
    assert (part(folder, "rib 1").filament, part(folder, "rib 1").recipe.name) == ("PETG", "plain")
    undo(folder)
    assert part(folder, "hull").recipe.name == "plain"


def test_a_proposal_moves_fittings_too(folder: Path) -> None:
    """The one of two alike that sits where the study says moves; one that is not there is refused."""
    path = folder / "airframe.toml"
    rows = "".join(
        f'\n[[fitting]]\nname = "ballast"\nmass_g = 20\nstation_mm = {at}\nmovable = true\n'
        for at in (10, 90.5)
    )
    path.write_text(path.read_text(encoding="utf-8") + rows, encoding="utf-8")
    moves = [{"fitting": "ballast", "station_mm": 90.5, "to_mm": 41.26}]
    said = made(folder, "take", changes=[], moves=moves)
    assert "ballast" in said
    stations = [f.station_mm for f in read_state(folder).records.airframe.fittings if f.name == "ballast"]
    assert stations == [10.0, 41.3]
    with pytest.raises(RecordError, match=r"no fitting 'ballast' at station 90\.5"):
        made(folder, "take", changes=[], moves=moves)


def test_a_part_keeps_its_support_under_a_borrowed_recipe(folder: Path) -> None:
    """Kind, walls and gaps of its columns come along, not those of the recipe that is borrowed."""
    path = folder / "airframe.toml"
    own = '[recipe.held]\nlike = "plain"\nsupport = "bed only"\nsupport_walls = 3\nsupport_gap_mm = 0.8\n'
    path.write_text(f"{path.read_text(encoding='utf-8')}\n{own}", encoding="utf-8")
    made(folder, "part", part="hull", key="recipe", value="held")
    made(folder, "take", changes=[{"part": "hull", "instead": "solid, PETG"}])
    recipe = part(folder, "hull").recipe
    assert (recipe.name, recipe.infill) == ("solid, brim 0, support bed only", 1.0)
    assert (recipe.support, recipe.support_walls, recipe.support_gap_mm) == ("bed only", 3, 0.8)


def test_a_broken_record_is_told_and_can_be_mended_as_text(tmp_path: Path) -> None:
    """Choices are refused until then; the page shows line and key."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    (folder / "airframe.toml").write_text(AIRFRAME.replace('name = "test', 'nmae = "test'), encoding="utf-8")
    client = client_of(desk)
    assert "nmae" in client.get("/a/glider").text
    refused = client.post(
        "/a/glider/edit", json={"do": "part", "given": {"part": "hull", "key": "copies", "value": 2}}
    )
    assert (refused.status_code, "line 3" in refused.json()["message"]) == (422, True)
    mended = client.post(
        "/a/glider/edit", json={"do": "text", "given": {"file": "airframe.toml", "text": AIRFRAME}}
    )
    assert mended.status_code == 200
    assert read_state(folder).wrong == ""


def test_two_tabs_edit_one_after_the_other(folder: Path, tmp_path: Path) -> None:
    """Edits of different things from stale sheets are both kept."""
    made(folder, "part", part="hull", key="copies", value=2)
    made(folder, "part", part="hull", key="filament", value="PETG")
    assert (part(folder, "hull").copies, part(folder, "hull").filament) == (2, "PETG")


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_a_text_that_was_changed_meanwhile_is_not_written_over(folder: Path, ends: str) -> None:
    """The second of two tabs is told so; with the text of now, as a browser holds it, it is saved."""
    (folder / "airframe.toml").write_bytes(AIRFRAME.replace("\n", ends).encode())
    longer = AIRFRAME + "\n# of the other tab\n"
    made(folder, "text", file="airframe.toml", text=longer, was=AIRFRAME)
    with pytest.raises(RecordError, match="was changed since"):
        made(folder, "text", file="airframe.toml", text=AIRFRAME + "# mine\n", was=AIRFRAME)
    assert (folder / "airframe.toml").read_text(encoding="utf-8") == longer
    made(folder, "text", file="airframe.toml", text=AIRFRAME, was=longer)
    assert (folder / "airframe.toml").read_text(encoding="utf-8") == AIRFRAME
