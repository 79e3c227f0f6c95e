"""Odd surroundings of a command: each twist changes one thing; several come together."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from planner.compiled.place import COMPILED, folders

LEFT_OUT = ("PYTHON", "XDG_", "COLUMNS", "TZ", "LANG", "LC_", "TMPDIR", "NO_COLOR", "FORCE_COLOR", "TERM")
PLAIN_MASK = 0o022
SHARED_MEMORY = Path("/dev/shm")  # noqa: S108 - another file system than that of the other folders


@dataclass(slots=True)
class Around:
    """What is round one run of the command.

    Parameters
    ----------
    place : folder of the case; ``tmp`` and ``here`` in it must be empty afterwards
    starves : something that the command needs is short or missing: it may refuse, in a sentence
    told_as : encoding of what is printed
    same : whether the results are to be those of plain surroundings
    away : folders elsewhere that go with the case
    """

    place: Path
    env: dict[str, str]
    cwd: Path
    out: Path
    streams: dict[str, str] = field(default_factory=dict)  # closed, full, gone
    limits: dict[str, int] = field(default_factory=dict)
    mask: int = PLAIN_MASK
    starves: bool = False
    told_as: str = "utf-8"
    narrow: bool = False
    zone: bool = False
    same: bool = True
    gone: bool = False  # the working folder is
    start: str = "2026-12-01T17:10"
    package: Path | None = None  # where the package is found by a link
    away: list[Path] = field(default_factory=list)


Twist = Callable[[Around, np.random.Generator], None]


def plain(place: Path) -> Around:
    """Surroundings that nobody would remark on."""
    for name in ("tmp", "here", "home"):
        (place / name).mkdir(parents=True)
    kept = {key: value for key, value in os.environ.items() if not key.startswith(LEFT_OUT)}
    more = {"HOME": str(place / "home"), "TMPDIR": str(place / "tmp"), "LANG": "C.UTF-8"}
    more[COMPILED] = str(folders()[0])  # else every case would compile
    return Around(place, {**kept, **more}, place / "here", place / "out")


def _one(rng: np.random.Generator, *values: str) -> str:
    return values[int(rng.integers(len(values)))]


def _env(key: str, *values: str) -> Twist:
    def twist(around: Around, rng: np.random.Generator) -> None:
        around.env[key] = _one(rng, *values)

    return twist


def _language(around: Around, rng: np.random.Generator) -> None:
    languages = ("C", "POSIX", "C.utf8", "tr_TR.UTF-8", "xx_XX.nothing", "")
    around.env[_one(rng, "LANG", "LC_ALL")] = _one(rng, *languages)


def _encoding(around: Around, rng: np.random.Generator) -> None:
    around.told_as = _one(rng, "ascii", "latin-1", "cp1252", "utf-8")
    around.env["PYTHONIOENCODING"] = around.told_as + _one(rng, "", ":strict", ":ignore")


def _zone(around: Around, rng: np.random.Generator) -> None:
    zones = ("", "Mars/Base", ":/etc/passwd", "../../etc/passwd", "UTC+99", "<+0330>-3:30", "Asia/Kathmandu")
    around.env["TZ"] = _one(rng, *zones)
    around.zone = True


def _home(around: Around, rng: np.random.Generator) -> None:
    kind = _one(rng, "none", "nowhere", "file", "read-only", "relative", "empty")
    home = around.place / "other home"
    if kind == "none":
        del around.env["HOME"]
    elif kind == "file":
        home.write_text("no folder", encoding="utf-8")
    elif kind == "read-only":
        home.mkdir(mode=0o500)
    if kind != "none":
        around.env["HOME"] = {"relative": "some/where", "empty": ""}.get(kind, str(home))
    around.starves |= kind in ("relative", "empty")


def _temporary(around: Around, rng: np.random.Generator) -> None:
    kind, folder = _one(rng, "none", "nowhere", "read-only", "file"), around.place / "other tmp"
    around.env["TMPDIR"] = str(folder)
    if kind == "none":
        del around.env["TMPDIR"]
    elif kind == "read-only":
        folder.mkdir(mode=0o500)
    elif kind == "file":
        folder.write_text("no folder", encoding="utf-8")


def _width(around: Around, rng: np.random.Generator) -> None:
    around.env["COLUMNS"] = _one(rng, "0", "1", "7", "100000", "-5", "wide")
    around.narrow = True


def _stream(name: str, *kinds: str) -> Twist:
    def twist(around: Around, rng: np.random.Generator) -> None:
        around.streams[name] = _one(rng, *kinds)

    return twist


def _mask(around: Around, rng: np.random.Generator) -> None:
    around.mask = (0o077, 0o000, 0o027)[int(rng.integers(3))]


def _folder(around: Around, rng: np.random.Generator) -> None:
    if rng.random() < 0.5:
        around.gone = around.starves = True
    else:
        around.cwd.chmod(0o500)


def _few_files(around: Around, rng: np.random.Generator) -> None:
    around.limits["RLIMIT_NOFILE"] = int(rng.integers(16, 100))
    around.starves = True


def _small_files(around: Around, rng: np.random.Generator) -> None:
    around.limits["RLIMIT_FSIZE"] = int(10 ** rng.uniform(0.0, 5.5))
    # Python keeps byte code that was cut off there, and stumbles over it at every later start.
    around.env["PYTHONDONTWRITEBYTECODE"] = "1"
    around.starves = True


def _little_memory(around: Around, rng: np.random.Generator) -> None:
    around.limits["RLIMIT_AS"] = int(rng.uniform(0.4, 3.0) * 2**30)
    around.starves = True


def _results(around: Around, rng: np.random.Generator) -> None:
    kinds = ("unicode", "spaces", "newline", "long", "too long", "deep", "elsewhere", "link", "no folder")
    kind = _one(rng, *kinds)
    names = {
        "unicode": "Flügel 翼 \u202e\U0001f6e9",
        "spaces": "  two  words ",
        "newline": "one\ntwo\x1b[31m",
    }
    names |= {"long": "x" * 200, "too long": "y" * 256, "deep": "/".join(["deep" * 10] * 20) + "/out"}
    around.out = around.place / names.get(kind, "out")
    if kind == "elsewhere" and SHARED_MEMORY.is_dir():
        around.away.append(Path(tempfile.mkdtemp(dir=SHARED_MEMORY)))
        around.out = around.away[-1] / "out"
    elif kind == "link":
        (around.place / "real").mkdir()
        (around.place / "linked").symlink_to(around.place / "real")
        around.out = around.place / "linked" / "out"
    elif kind == "no folder":
        (around.place / "file").write_text("in the way", encoding="utf-8")
        around.out = around.place / "file" / "out"
    around.starves |= kind in ("too long", "no folder")


def _locked_results(around: Around, rng: np.random.Generator) -> None:
    del rng
    (around.place / "locked").mkdir(mode=0o500)
    around.out, around.starves = around.place / "locked" / "out", True


def _start(around: Around, rng: np.random.Generator) -> None:
    starts = ("1970-01-01T00:00", "2100-02-28T23:59", "2199-12-31T23:59", "1970-01-01", "2026-03-29T02:30")
    around.start, around.same = _one(rng, *starts), False
    around.starves = True  # a plan may end after the last year that can be told


def _linked(around: Around, rng: np.random.Generator) -> None:
    del rng
    around.package = around.place / "installed by a link"
    around.package.mkdir()
    (around.package / "planner").symlink_to(Path(__file__).resolve().parents[2] / "planner")
    around.env["PYTHONPATH"] = str(around.package)


TWISTS: dict[str, Twist] = {
    "language": _language,
    "encoding": _encoding,
    "zone": _zone,
    "home": _home,
    "temporary": _temporary,
    "width": _width,
    "colour": _env("NO_COLOR", "1", "", "0"),
    "more colour": _env("FORCE_COLOR", "1", "3"),
    "terminal": _env("TERM", "dumb", "", "xterm-256color", "nothing"),
    "hashes": _env("PYTHONHASHSEED", "0", "1", "4294967295"),
    "optimised": _env("PYTHONOPTIMIZE", "1", "2"),
    "no byte code": _env("PYTHONDONTWRITEBYTECODE", "1"),
    "unbuffered": _env("PYTHONUNBUFFERED", "1"),
    "text mode": _env("PYTHONUTF8", "0", "1"),
    "caches": _env("XDG_CACHE_HOME", "relative", "/dev/null/x", ""),
    "no input": _stream("stdin", "closed"),
    "output": _stream("stdout", "closed", "full", "gone"),
    "errors": _stream("stderr", "closed", "full", "gone"),
    "mask": _mask,
    "folder": _folder,
    "few files": _few_files,
    "small files": _small_files,
    "little memory": _little_memory,
    "results": _results,
    "locked results": _locked_results,
    "start": _start,
    "linked": _linked,
}


Twists = tuple[tuple[str, int], ...]  # names, each with a seed of its own


def drawn(rng: np.random.Generator) -> Twists:
    """Two to five twists."""
    names = list(TWISTS)
    picked = sorted(int(at) for at in rng.permutation(len(names))[: int(rng.integers(2, 6))])
    return tuple((names[at], int(rng.integers(10**9))) for at in picked)


def twisted(place: Path, twists: Twists) -> Around:
    """Surroundings with these twists."""
    around = plain(place)
    for name, seed in twists:
        TWISTS[name](around, np.random.default_rng(seed))
    return around


def bound(words: list[str]) -> list[str]:
    """The command without what lets an administrator write everywhere; as it is where that cannot be."""
    if sys.platform != "linux" or os.geteuid() != 0 or shutil.which("setpriv") is None:
        return words
    return ["setpriv", "--bounding-set", "-dac_override,-dac_read_search", *words]
