"""Sheets show what the files say, and texts from files are only ever shown."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from planner import __version__
from planner.web.jobs.worker_tasks import look
from planner.web.state import read_state, stamp_of
from planner.web.views.scene import COARSE
from planner.web.workspace import write_record
from tests.builders import box, sphere, stl_bytes, threemf_bytes, threemf_object
from tests.unit.web.page_desk import airframe_in, client_of, desk_at

EVIL = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"


def looked(folder: Path) -> dict[str, object]:
    """Look at a folder in this process."""
    return look(str(folder), stamp_of(folder), lambda stage, done, total: None)


def test_script_in_names_is_escaped_on_every_sheet(tmp_path: Path) -> None:
    """Airframe, part, section, recipe, printer and spool names are text, also inside attributes."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    quoted = json.dumps(EVIL)
    (folder / "airframe.toml").write_text(
        f'[airframe]\nname = {quoted}\n[recipe.{quoted}]\nlike = "plain"\n'
        f'[[part]]\nmesh = "hull.stl"\nname = {quoted}\nsection = {quoted}\nrecipe = {quoted}\n',
        encoding="utf-8",
    )
    (folder / "workshop.toml").write_text(
        f'[[printer]]\nname = {quoted}\n[[filament]]\nname = {quoted}\nlike = "PLA"\n'
        f"[[spool]]\nname = {quoted}\nfilament = {quoted}\ngrams_left = 5\n",
        encoding="utf-8",
    )
    looked(folder)
    assert read_state(folder).wrong == ""
    client = client_of(desk)
    for path in (
        "/",
        "/a/glider",
        "/a/glider/workshop",
        "/a/glider/plan",
        "/a/glider/changes",
        "/a/glider/records",
    ):
        answer = client.get(path)
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text
        assert "<img src=x" not in answer.text


def test_an_object_name_of_a_3mf_is_escaped_and_entities_are_refused(tmp_path: Path) -> None:
    """Script in the name of an object is shown; a file with entities is set aside by name."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    name = "&lt;img src=x onerror=alert(1)&gt;"
    objects = threemf_object(1, box(10, 10, 10), name) + threemf_object(2, box(10, 10, 12), "b")
    build = '<item objectid="1"/><item objectid="2"/>'
    (folder / "two.3mf").write_bytes(threemf_bytes(objects, build))
    bomb = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
    (folder / "bomb.3mf").write_bytes(
        threemf_bytes(threemf_object(1, box(9, 9, 9)), '<item objectid="1"/>', before=bomb)
    )
    found = looked(folder)
    assert [mesh for mesh, _ in found["set_aside"]] == ["bomb.3mf"]  # type: ignore[attr-defined]
    text = client_of(desk).get("/a/glider").text
    assert "<img src=x" not in text
    assert "bomb.3mf" in text


def test_a_look_drafts_the_records_that_are_missing_and_touches_no_other(tmp_path: Path) -> None:
    """Bare meshes become a folder that the command line can plan; the workshop is shared."""
    desk = desk_at(tmp_path)
    folder = desk.workspace.root / "bare"
    folder.mkdir()
    (folder / "rib_x3.stl").write_bytes(stl_bytes(box(40, 10, 3)))
    (folder / "bad.stl").write_bytes(b"")
    found = looked(folder)
    assert (folder / "airframe.toml").is_file()
    assert (desk.workspace.root / "workshop.toml").is_file()
    assert found["set_aside"] == [["bad.stl", "the file is empty. Export it again from the CAD program."]]
    assert read_state(folder).look is not None


def test_a_look_is_made_again_when_a_mesh_changes(tmp_path: Path) -> None:
    """What was kept holds for the files that it was made of only."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    assert read_state(folder).look is not None
    (folder / "fin.stl").write_bytes(stl_bytes(box(5, 5, 5)))
    assert read_state(folder).look is None


def test_a_prepared_folder_is_not_told_to_be_wrong_before_it_was_looked_at(tmp_path: Path) -> None:
    """Its record names meshes that nobody has read yet; afterwards a true mistake is told."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    (folder / ".page" / "look.json").unlink()
    state = read_state(folder)
    assert (state.looked, state.wrong) == (False, "")
    looked(folder)
    with (folder / "airframe.toml").open("a", encoding="utf-8") as stream:
        stream.write('[[part]]\nmesh = "nowhere.stl"\n')
    assert "nowhere.stl" in read_state(folder).wrong


def test_figures_stay_while_the_next_ones_are_reckoned(tmp_path: Path) -> None:
    """Grams of the choice before, marked as old; marked no more once they are those of the choice."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    client = client_of(desk)
    measures = {"parts": {"hull": {"mass_g": 12.5, "minutes": 61.0, "pose": None}}, "misfits": []}
    for revision, old in (("another", True), (read_state(folder).revision, False)):
        kept = {"by": __version__, "revision": revision, "start": "None", "measures": measures}
        write_record(folder, "measures.json", kept)
        text = client.get("/a/glider").text
        assert "12.5 g" in text
        assert ('class="figures old"' in text) == old


def test_a_tab_is_named_after_its_airframe(tmp_path: Path) -> None:
    """Two airframes, two names."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    assert "<title>Workshop - test glider - planner</title>" in client_of(desk).get("/a/glider/workshop").text


def test_pictures_and_scenes_are_served_for_known_keys_only(tmp_path: Path) -> None:
    """A picture is a PNG, a scene is corners; keys that are paths are nothing."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    client = client_of(desk)
    rows = (read_state(folder).look or {})["meshes"]
    key = rows[0]["key"]
    picture = client.get(f"/a/glider/picture/{key}/1")
    assert picture.content.startswith(b"\x89PNG\r\n\x1a\n")
    corners = np.frombuffer(client.get(f"/a/glider/scene/{key}").content, dtype="<f4").reshape(-1, 3, 3)
    assert len(corners) == rows[0]["triangles"]
    for wrong in ("nothing", "%2e%2e%2flook", "%2e%2e"):
        assert client.get(f"/a/glider/scene/{wrong}").status_code == 404


@pytest.mark.parametrize(
    "inside",
    [
        "../airframe.toml",
        "..%2fairframe.toml",
        "%2e%2e/airframe.toml",
        "/etc/passwd",
        "../../../x",
        "written.json",
    ],
)
def test_a_download_never_leaves_the_results(tmp_path: Path, inside: str) -> None:
    """Only files that the results folder lists are given out."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    (folder / "plan").mkdir()
    (folder / "plan" / "plan.json").write_text("{}", encoding="utf-8")
    client = client_of(desk)
    assert client.get("/a/glider/file/plan.json").status_code == 200
    assert client.get(f"/a/glider/file/{inside}").status_code == 404


def test_the_report_may_bring_its_style_but_run_nothing(tmp_path: Path) -> None:
    """Drawings and report are sandboxed, everything else is saved."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    (folder / "plan").mkdir()
    for name in ("plan.json", "report.html", "cost_sheet.csv"):
        (folder / "plan" / name).write_text("x", encoding="utf-8")
    client = client_of(desk)
    report = client.get("/a/glider/file/report.html")
    assert "sandbox" in report.headers["content-security-policy"]
    assert "script" not in report.headers["content-security-policy"]
    assert client.get("/a/glider/file/cost_sheet.csv").headers["content-disposition"].startswith("attachment")


@pytest.mark.parametrize(
    "path", ["/a/nothing", "/a/%2e%2e", "/a/%2e%2e/plan", "/a/.page", "/nowhere", "/a/glider/file/x"]
)
def test_what_is_not_there_is_said_in_words(tmp_path: Path, path: str) -> None:
    """404 with a sheet, never a traceback."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    answer = client_of(desk).get(path)
    assert answer.status_code == 404
    assert "Traceback" not in answer.text


def test_an_airframe_that_is_put_away_can_be_fetched_back(tmp_path: Path) -> None:
    """Nothing is deleted."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    client = client_of(desk)
    assert client.post("/a/glider/remove", json={}).status_code == 200
    assert client.get("/a/glider").status_code == 404
    assert len(list((desk.workspace.root / ".removed").rglob("hull.stl"))) == 1


def test_a_damaged_record_of_the_page_is_as_if_it_were_not_there(tmp_path: Path) -> None:
    """What the page derived can be made again."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    write_record(folder, "history.json", {"edits": "nonsense"})
    (folder / ".page" / "look.json").write_text("{", encoding="utf-8")
    assert read_state(folder).look is None


def test_a_light_mesh_has_few_triangles_and_the_same_size() -> None:
    """32 768 facets of a sphere come down to the limit; its bounds hardly move."""
    from planner.web.views.scene import MOST, light

    ball = sphere(50.0, 6)
    made = light(ball.triangles)
    assert len(ball) > MOST >= len(made) > 300
    assert np.abs(made.reshape(-1, 3).max(axis=0) - 25.0).max() < 50.0 / 8
    assert np.allclose(light(box(3, 4, 5).triangles).reshape(-1, 3).max(axis=0), [3, 4, 5])


def test_a_picture_shows_the_part_in_its_middle() -> None:
    """The middle is covered, the corners are clear (Source: ISO/IEC 15948 decoded by hand)."""
    import zlib

    from planner.web.views.picture import HEIGHT, WIDTH, picture

    body = picture(box(30, 20, 10).triangles.astype(np.float32), (0, 114, 178))
    at = body.index(b"IDAT")
    length = int.from_bytes(body[at - 4 : at], "big")
    rows = np.frombuffer(zlib.decompress(body[at + 4 : at + 4 + length]), dtype=np.uint8).reshape(
        HEIGHT, 1 + 4 * WIDTH
    )
    alpha = rows[:, 1:].reshape(HEIGHT, WIDTH, 4)[..., 3]
    assert alpha[HEIGHT // 2, WIDTH // 2] == 255
    assert alpha[0, 0] == alpha[-1, -1] == 0
    assert 0.1 < (alpha > 0).mean() < 0.8


def test_a_coarse_scene_holds_fewer_triangles_in_the_same_box(tmp_path: Path) -> None:
    """Where many parts turn at once few triangles each must do; small meshes stay whole."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    client = client_of(desk)
    key = (read_state(folder).look or {})["meshes"][0]["key"]
    fine = sphere(40.0, 5).triangles.astype(np.float32)
    np.save(folder / ".page" / "scene" / f"{key}.npy", fine)
    made = client.get(f"/a/glider/scene/{key}?coarse").content
    coarse = np.frombuffer(made, dtype="<f4").reshape(-1, 3, 3)
    assert 100 < len(coarse) <= COARSE < len(fine)
    assert coarse.min() == pytest.approx(fine.min(), abs=3.0)
    assert coarse.max() == pytest.approx(fine.max(), abs=3.0)
