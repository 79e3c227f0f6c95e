"""Cases that fail are made small, kept, and tried again: with faults that are planted in what judges them."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

from tests.build import life
from tests.campaign import builds, environments, folders, keep, kills
from tests.campaign.builds import END, ON
from tests.campaign.drawn_life import DrawnLife, least
from tests.campaign.dropped import PLAIN, Dropped, Entry
from tests.campaign.kills import nearest
from tests.campaign.reduce import alike, fewest
from tests.campaign.scenes import SCENES
from tests.campaign.test_builds import Lives, step
from tests.campaign.warm import FORKS, Done, warm

if not FORKS:
    pytest.skip("processes are forked, limits are set as POSIX knows them", allow_module_level=True)


@pytest.fixture(name="kept")
def _kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where cases are kept for a while."""
    monkeypatch.setattr(keep, "_at", [tmp_path / "kept"])
    return tmp_path / "kept" / keep.CAMPAIGNS


def only(kept: Path) -> dict[str, Any]:
    """The one case that was kept."""
    (path,) = kept.iterdir()
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


def test_parts_are_left_out_until_none_can_be() -> None:
    """Far from each other, none at all, all of them; no more tries than were given."""
    assert fewest(range(60), lambda few: {7, 40, 41} <= set(few)) == (7, 40, 41)
    assert fewest(range(9), lambda _: True) == ()
    assert fewest(range(5), lambda few: len(few) == 5) == tuple(range(5))
    tried: list[int] = []
    assert len(fewest(range(50), lambda few: bool(tried.append(1)) or len(few) > 30, most=7)) > 30
    assert len(tried) == 7


def test_the_same_fault_in_other_words() -> None:
    """Names, numbers, places and the step may differ; what is wrong may not."""
    one = "step 3 (on; --since /tmp/a/out2): bed 4: 'rib 1' weighs 3.2 g and not 3.4 g"
    assert alike(one, "step 0 (begin; --start 2026-12-01): bed 1: 'wing_L' weighs 0.2 g and not 9.9 g")
    assert not alike(one, "step 3 (on; --since /tmp/a/out2): the plan cannot be read back: no schema")
    assert not alike(one, "")
    assert not alike("", "")
    assert alike("17", "17")
    assert not alike("17", "18")


def test_a_build_is_kept_with_few_events_and_files(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A loss after a purchase, with a nose, is a fault: two events and one file are left."""

    class Judged(Lives):
        def __init__(self, folder: Path, kit: Any, shop: object, reads: object) -> None:
            super().__init__(folder, kit, shop, reads)
            self.nosed, self.was = any(row.option == "camera" for row in kit.rows), ""

    def told(name: str) -> builds.Event:
        def event(builder: Any, rng: np.random.Generator) -> None:
            step(builder, rng)
            if name == "lost" and builder.was == "bought" and builder.nosed:
                builder.faults.append(f"step {len(builder.made)} (lost; x): a piece lies on no bed")
            builder.was = name if name in ("bought", "lost") else builder.was

        return event

    monkeypatch.setattr(builds, "Builder", Judged)
    monkeypatch.setattr(life, "to_the_end", lambda *_: None)
    monkeypatch.setattr(builds, "on", step)
    monkeypatch.setattr(builds, "OFTEN", {name: told(name) for name in ("fail", "again")})
    monkeypatch.setattr(builds, "ONCE", {name: told(name) for name in ("lost", "bought")})
    cases = (builds.case(number, 1) for number in range(40))
    failed = next(case for case in cases if case.fault)
    record = only(kept)
    assert int(failed.what.split()[0]) > 1
    assert len(failed.what.split(": ")[1].split()) > 2
    assert [event for event, _ in record["steps"]] == ["bought", "lost"]
    assert len(record["rows"]) == 1
    assert "a piece lies on no bed" in builds.again(record)
    monkeypatch.setattr(builds, "ONCE", {"lost": step, "bought": step})
    assert builds.again(record) == ""
    assert builds.again({**record, "steps": [[ON, 1], [END, 2]]}) == ""
    assert "without nobody.stl" in builds.again({**record, "rows": [*record["rows"], "nobody.stl"]})


def test_a_smaller_build_with_another_fault_is_not_taken() -> None:
    """Nor one whose fault does not come again."""
    life = DrawnLife(1, 12, pins=False, odd=False, shop=1, hasty=True, rows=("a", "b", "c"))

    def faults(less: DrawnLife) -> list[str]:
        return ["a piece lies on no bed", *(["the title has no number"] if len(less.rows) < 2 else [])]

    assert len(least(life, faults).rows) == 2
    assert least(life, lambda _: []) == life


def test_a_folder_is_kept_with_few_files(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A workshop of a line and a mesh beside it, where these are a fault; the command is none here."""

    def bad(words: list[str], home: Path, **_: object) -> Done:
        kit = Path(words[1])
        texts = [p.read_text(errors="replace") for p in kit.rglob("workshop.toml")] if kit.is_dir() else []
        guilty = any("[[spool]]" in text for text in texts) and any(kit.rglob("*.stl"))
        return Done(1 if guilty else 2, "", "Traceback: no such spool" if guilty else "refused")

    monkeypatch.setattr(folders, "command", bad)
    assert next(folders.case(number, 1) for number in range(20)).fault
    record = only(kept)
    assert len(record["entries"]) == 2
    (text,) = (row["text"] for row in record["entries"] if "text" in row)
    assert text.split() == ["[[spool]]"]
    assert "no such spool" in folders.again(record)
    monkeypatch.setattr(folders, "command", lambda *_, **__: Done(2, "", "refused"))
    assert folders.again(record) == ""


def test_a_folder_is_written_down_and_made_again(tmp_path: Path) -> None:
    """Bytes, text, links, empty folders, well-known meshes by their names."""
    made = Dropped(
        (
            Entry("a/empty"), Entry("a/odd.obj", b"\xff\0"), Entry("box.stl", PLAIN),
            Entry("n.toml", b"x = 1"), Entry("round", link="."), Entry("two.stl", link="box.stl"),
        ),
        packed=True,
    )  # fmt: skip
    assert Dropped.of(json.loads(json.dumps(made.record()))) == made
    made.laid(tmp_path / "kit")
    assert Dropped.taken(tmp_path / "kit", packed=True, fresh=False) == made


def test_surroundings_are_kept_with_few_twists(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One of several is to blame."""
    sound = environments.Ran(0, b"words\n", b"", {})
    there = environments.Known(kept, kept, dict.fromkeys(environments.COMMANDS, sound))
    monkeypatch.setattr(environments, "known", lambda: there)
    monkeypatch.setattr(
        environments, "run", lambda _, around, *__: replace(sound, code=70 * ("NO_COLOR" in around.env))
    )
    monkeypatch.setattr(environments, "_printed", lambda *_: "")
    monkeypatch.setattr(environments, "_written", lambda *_: "")
    assert next(case for case in (environments.case(n, 1) for n in range(60)) if case.fault)
    record = only(kept)
    assert [name for name, _ in record["twists"]] == ["colour"]
    assert "code 70" in environments.again(record)
    monkeypatch.setattr(environments, "run", lambda *_: sound)
    assert environments.again(record) == ""


def test_a_step_is_found_by_its_operation() -> None:
    """Random letters and digests in names are none of it; the nearest of several; else by its number."""
    steps = (
        "fsync",
        "open home/.out-e8t_x7dh/plan.json",
        "fsync",
        f"open home/cache/{'0a' * 20}.npz",
        "fsync",
    )
    assert nearest(steps, "open home/.out-aaaaaaaa/plan.json", 5) == 2
    assert nearest(steps, f"open home/cache/{'ff' * 20}.npz", 1) == 4
    assert [nearest(steps, "fsync", at) for at in (1, 3, 9)] == [1, 3, 5]
    assert [nearest(steps, "os.rename home/out", at) for at in (2, 9)] == [2, 5]


@pytest.mark.slow
def test_a_kill_is_kept_as_one_step(kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a kill after some time shows, one before a step shows, too; without the fault all holds."""
    warm()
    whole = kills.played(SCENES[6], tmp_path / "scene", (1,))
    judge = kills.seen

    def bad(whole: kills.Whole, done: Done, way: str = "step") -> str:
        return "the facts are lost" if done.code < 0 else judge(whole, done, way)

    monkeypatch.setattr(kills, "seen", bad)
    rng = np.random.default_rng(1)
    assert next(case for n in (5, 13, 21) if (case := kills.killed(whole, n, 9, rng)).fault)
    record = only(kept)
    assert (record["way"], record["after"], record["at"]) == ("step", None, 1)
    assert record["operation"] == whole.steps[0]
    assert "lost" in kills.again(record)
    monkeypatch.setattr(kills, "seen", judge)
    assert kills.again(record) == ""
