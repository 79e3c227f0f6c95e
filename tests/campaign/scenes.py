"""What a command is killed at: the work that goes before, the words, and what may lie there afterwards."""

from __future__ import annotations

import json
import shutil
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from planner.io.results.plan_file import read_plan
from planner.ledger.opening import opened
from planner.ledger.schema import MIGRATIONS
from tests.builders import aerofoil_slab, box, stl_bytes, tube
from tests.campaign.warm import Done, command, planned
from tests.machine_files.beds import file_of
from tests.machine_files.writer import Style
from tests.small_job import write_small_job

LATER = "2026-12-02T10:00"
AT = "2026-12-01T20:00"
CACHE = ("--cache", "cache")


@dataclass(frozen=True, slots=True)
class Place:
    """A folder with a kit, and the home from which commands are typed, where results lie."""

    root: Path

    @property
    def kit(self) -> Path:
        """The folder of meshes and records."""
        return self.root / "kit"

    @property
    def home(self) -> Path:
        """Where commands are run."""
        return self.root / "home"

    def does(self, *words: str) -> Done:
        """A command that is part of the preparation and must succeed."""
        done = command(words, self.home)
        if done.code:
            raise AssertionError(f"{' '.join(words[:2])} gives {done.code}: {done.err[-300:]}")
        return done

    def plans(self, *words: str, out: str = "out") -> list[str]:
        """The words of a plan of the kit."""
        return planned(self.kit, out, *CACHE, *words)

    def tells(self, *words: str) -> list[str]:
        """The words of a fact."""
        return [*words, "--in", str(self.kit)]


@dataclass(frozen=True, slots=True)
class Scene:
    """One command that is killed.

    Parameters
    ----------
    before : makes what is there when it begins
    words : of the command
    outs : results folders that it replaces as a whole
    alone : names of folders cannot be exchanged here
    same : told again it comes to the very same, whether the first time counted or not
    """

    name: str
    before: Callable[[Place], object]
    words: Callable[[Place], list[str]]
    outs: tuple[str, ...] = ("out",)
    alone: bool = False
    same: bool = True


def random_job(root: Path, rng: np.random.Generator) -> Place:
    """The small airframe in sizes of its own."""
    kit = write_small_job(root / "kit")
    wing, hull = rng.uniform(80.0, 140.0), rng.uniform(30.0, 60.0)
    (kit / "wing_L.stl").write_bytes(stl_bytes(aerofoil_slab(wing, rng.uniform(30.0, 70.0))))
    (kit / "fuselage.stl").write_bytes(stl_bytes(tube(hull, hull - 3.0, rng.uniform(40.0, 90.0))))
    (kit / "clip x4.stl").write_bytes(stl_bytes(box(*rng.uniform(5.0, 20.0, 3))))
    return Place(root)


def _nothing(place: Place) -> None:
    place.home.mkdir(exist_ok=True)


def _planned(place: Place) -> None:
    place.does(*place.plans())


def _told(place: Place) -> None:
    _planned(place)
    place.does(*place.tells("record", "bed 1", "began", "--at", "2026-12-01T18:00"))


def _first_bed(place: Place) -> dict[str, object]:
    plan = json.loads((place.home / "out" / "plan.json").read_text(encoding="utf-8"))
    found: dict[str, object] = next(one for one in plan["batches"] if one["batch"] == "bed 1")
    return found


def _weighed(place: Place) -> list[str]:
    """All pieces of the first bed, in one command."""
    placed = _first_bed(place)["placed"]
    assert isinstance(placed, list)
    rows = [word for n, one in enumerate(placed) for word in (one["piece"], f"{4.0 + n}")]
    return place.tells("record", "weighed", *rows, "--at", AT)


def _machine_file(place: Place) -> None:
    """One that prints the first bed."""
    _planned(place)
    plan = read_plan(place.home / "out" / "plan.json")
    bed = next(one for one in plan.batches if one.name == "bed 1")
    style = Style(retract_mm=0.0, temperatures=(210.0, 60.0))
    mm3 = 1.02 * bed.mass_g * 1000.0 / 1.24
    text = file_of(replace(bed), mm3=mm3, low=max(2, round(bed.height_mm / 0.2) - 1), style=style)
    (place.home / "moves").write_text(text, encoding="utf-8")


def _raw(place: Place) -> None:
    for file in ("airframe.toml", "workshop.toml"):
        (place.kit / file).unlink()
    _nothing(place)


def _packed(place: Place) -> None:
    _nothing(place)
    with zipfile.ZipFile(place.root / "parts.zip", "w") as archive:
        for path in sorted(place.kit.iterdir()):
            archive.write(path, path.name)
    shutil.rmtree(place.kit)


def _of_old(place: Place) -> None:
    """A ledger as an earlier version left it, without a fact."""
    _planned(place)
    opened(place.kit / "ledger.sqlite", writing=True, migrations=MIGRATIONS[:1]).dispose()


def _done(place: Place) -> list[str]:
    return place.tells("record", "bed 1", "done", "--at", AT)


SCENES = (
    Scene("first plan", _nothing, lambda place: place.plans()),
    Scene("plan over a plan", _planned, lambda place: place.plans("--start", LATER)),
    Scene("plan by two renames", _planned, lambda place: place.plans("--start", LATER), alone=True),
    Scene(
        "replan beside", _planned,
        lambda place: place.plans("--since", "out", "--as-planned", "--start", LATER, out="more"),
        outs=("out", "more"),
    ),
    Scene("replan by facts", _told, lambda place: place.plans("--start", LATER), same=False),
    Scene("replan, two renames", _told, lambda place: place.plans("--start", LATER), alone=True, same=False),
    Scene("first fact", _planned, _done),
    Scene("fact", _told, _done),
    Scene("weighed", _told, _weighed),
    Scene("undo", _told, lambda place: place.tells("record", "undo", "bed 1"), same=False),
    Scene("readback", _machine_file, lambda place: place.tells("readback", "moves", "--take")),
    Scene("spool", _told, lambda place: place.tells("spool", "add", "grey 9", "PLA", "900", "--at", AT)),
    Scene("away", _told, lambda place: place.tells("away", "round", "--from", AT, "--until", "2026-12-09")),
    Scene("today", _told, lambda place: ["today", str(place.kit), "--at", AT]),
    Scene("new", _raw, lambda place: ["new", str(place.kit)]),
    Scene("archive", _packed, lambda place: planned(place.root / "parts.zip", "out", *CACHE)),
    Scene("ledger of old", _of_old, _done),
)  # fmt: skip
