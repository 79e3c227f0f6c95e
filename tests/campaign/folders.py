"""The whole command on a folder as somebody might drop it: odd names, odd files, odd lines, odd workshops.

Oracles outside the planner: the code is one of four, no traceback; what is planned is whole (every file that
is named is there) and passes an independent check of its weights; what is refused leaves nothing, in a
sentence of at most 500 characters; sound meshes are not lost for a damaged one; nothing in the folder of
meshes is changed.
"""

from __future__ import annotations

import json
import math
import shutil
import tempfile
import zipfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import tomlkit

from planner.errors import LONGEST
from tests.campaign.bytewise import damaged
from tests.campaign.case import Case
from tests.campaign.dropped import Dropped, least
from tests.campaign.keep import keeps, kept_case
from tests.campaign.mutate_meshes import FORMATS, shape
from tests.campaign.standing import Tree, standing
from tests.campaign.warm import EVERY_FRESH, Done, command, planned
from tests.kits.shop import random_shop
from tests.small_job import write_small_job

BLOCK = 20
SOUND = "fuselage.stl"
_LINES = (
    "clear_minutes = 1e400", "seed = 3", "energy_price = 'NaN EUR'", "[[spool]]", "x = [",
    "time_zone = 'Mars'", "clearance_mm = -1", "currency = 'EUR '", "clear_minutes = true", "a.b.c = 1",
    "[[printer]]\nname = 'x'\nlike = 'none'", "[[part]]\nmesh = 'nobody.stl'", "\ufeff",
    "[airframe]\ntarget_mass_g = inf", "[recipe.odd]\nwalls = 0",
)  # fmt: skip
_NAMES = (
    "Flügel ½ (×2).stl", "-rf.stl", "--out.stl", " blank .stl", "a" * 180 + ".stl", "日本語.stl",
    "clip\u202etxt.stl", "tab\there.stl", "new\nline.stl", "FUSELAGE.STL", "wing_l.stl", "<b>bold&.stl",
    "'quoted' \"twice\".stl", "=1+1.stl", "CON.stl", ".hidden.stl", "e\u0301.stl", "\u00e9.stl",
    "%s %d {x}.stl", "$HOME.stl", "a.b.c.STL",
)  # fmt: skip

Odd = Callable[[Path, np.random.Generator], str]


def damaged_file(kit: Path, rng: np.random.Generator) -> str:
    """A mesh of any format with a few bytes changed."""
    suffix, written, _ = FORMATS[int(rng.integers(len(FORMATS)))]
    suffix = ".3mf" if suffix == ".model" else suffix
    (kit / f"odd{suffix}").write_bytes(damaged(rng, written(shape(rng))))
    return f"a damaged {suffix}"


def odd_line(kit: Path, rng: np.random.Generator) -> str:
    """A line of a record that does not belong there."""
    line = _LINES[int(rng.integers(len(_LINES)))]
    file = kit / ("workshop.toml" if rng.random() < 0.6 else "airframe.toml")
    text = file.read_text(encoding="utf-8")
    file.write_text(f"{line}\n{text}" if rng.random() < 0.5 else f"{text}\n{line}\n", encoding="utf-8")
    return f"{file.name} with {line!r}"


def changed_record(kit: Path, rng: np.random.Generator) -> str:
    """A record with a few bytes changed."""
    file = kit / ("workshop.toml" if rng.random() < 0.5 else "airframe.toml")
    file.write_bytes(damaged(rng, file.read_bytes(), 2))
    return f"a changed {file.name}"


def odd_name(kit: Path, rng: np.random.Generator) -> str:
    """A sound mesh by a name that nobody would choose."""
    name = _NAMES[int(rng.integers(len(_NAMES)))]
    suffix, written, _ = FORMATS[int(rng.integers(3))]
    try:
        (kit / name).with_suffix(suffix).write_bytes(written(shape(rng)))
    except OSError:
        return "a name that this disk does not take"
    return f"a file {name!r}"


def nested(kit: Path, rng: np.random.Generator) -> str:
    """Meshes in folders within folders."""
    below = kit / "wing" / "left wing" / ("deep/" * int(rng.integers(0, 12)))
    below.mkdir(parents=True)
    shutil.move(kit / "wing_L.stl", below / "wing_L.stl")
    return "folders within folders"


def linked(kit: Path, rng: np.random.Generator) -> str:
    """Links to a file, to nothing, and round in a circle."""
    (kit / "again.stl").symlink_to(kit / SOUND)
    (kit / "nothing.stl").symlink_to(kit / "nobody.stl")
    if rng.random() < 0.5:
        (kit / "round").symlink_to(kit)
    return "links"


def empty(kit: Path, rng: np.random.Generator) -> str:
    """Files of nothing, of other things, and a folder that is called as a mesh."""
    (kit / "empty.stl").write_bytes(b"")
    (kit / "notes.txt").write_bytes(rng.bytes(50))
    (kit / "folder.stl").mkdir()
    return "empty files"


def repeated(kit: Path, rng: np.random.Generator) -> str:
    """The same mesh again, under other names and in another format."""
    for n in range(int(rng.integers(1, 4))):
        shutil.copy(kit / SOUND, kit / f"copy {n} of fuselage.stl")
    return "the same mesh again"


def other_workshop(kit: Path, rng: np.random.Generator) -> str:
    """A workshop of its own: printers, densities, prices, hours; one printer may be lost."""
    record = random_shop(int(rng.integers(10**6))).record
    lost = int(rng.integers(0, len(record["printer"])))
    record["printer"] = record["printer"][: len(record["printer"]) - lost]
    if rng.random() < 0.2:
        record["spool"] = []
    (kit / "workshop.toml").write_text(tomlkit.dumps(record), encoding="utf-8")
    return f"another workshop, {lost} printers lost"


def densities(kit: Path, rng: np.random.Generator) -> str:
    """Own densities, from light to what no filament has."""
    rows = "".join(
        f'[[filament]]\nname = "{name}"\nlike = "{name}"\nsolid_g_per_cm3 = {value:.4g}\n'
        for name, value in (("PLA", 10 ** rng.uniform(-1.5, 1.3)), ("PETG", 10 ** rng.uniform(-1.0, 1.0)))
    )
    with (kit / "workshop.toml").open("a", encoding="utf-8") as file:
        file.write(rows)
    return "own densities"


def no_records(kit: Path, rng: np.random.Generator) -> str:
    """Meshes alone, or one record."""
    for name in ("airframe.toml", "workshop.toml")[: int(rng.integers(1, 3))]:
        (kit / name).unlink()
    return "records are missing"


def nothing(kit: Path, rng: np.random.Generator) -> str:
    """As it is, other shapes."""
    (kit / SOUND).write_bytes(FORMATS[0][1](shape(rng)))
    return "another shape"


ODD: tuple[Odd, ...] = (
    damaged_file, damaged_file, odd_line, odd_line, changed_record, odd_name, odd_name, nested, linked, empty,
    repeated, other_workshop, other_workshop, densities, no_records, nothing,
)  # fmt: skip


def pack(kit: Path) -> Path:
    """The folder as an archive."""
    archive = kit.with_suffix(".zip")
    with zipfile.ZipFile(archive, "w") as file:
        for path in sorted(kit.rglob("*")):
            if path.is_file():
                file.write(path, path.relative_to(kit).as_posix())
    shutil.rmtree(kit)
    return archive


def case(number: int, seed: int) -> Case:
    """One folder with one to three oddities."""
    rng = np.random.default_rng([seed, number, 1])
    with tempfile.TemporaryDirectory() as name:
        root = Path(name).resolve()
        kit, told = write_small_job(root / "kit"), []
        for _ in range(int(rng.integers(1, 4))):
            try:
                told.append(ODD[int(rng.integers(len(ODD)))](kit, rng))
            except (FileNotFoundError, FileExistsError):
                continue  # an oddity has moved what this one would change
        fresh, packed = number % EVERY_FRESH == EVERY_FRESH - 1, bool(rng.random() < 0.1)
        told += ["packed"] if packed else []
        tree = Dropped.taken(kit, packed=packed, fresh=fresh) if keeps() else None
        done, fault = _ran(root, packed=packed, fresh=fresh)
    if fault and tree is not None:
        kept_case("folders", least(tree, fault, fault_of).record(), fault)
    return Case("folders", number, "; ".join(told), f"code {done.code}", fault, done.seconds)


def _ran(root: Path, *, packed: bool, fresh: bool) -> tuple[Done, str]:
    """Plan the folder ``kit`` of a place, and look at what came of it."""
    given = pack(root / "kit") if packed else root / "kit"
    before = standing(root).files
    words = planned(given, "out", "--cache", str(root / "cache"))
    done = command(words, root / "home", fresh=fresh)
    return done, wrong(done, root, before)


def fault_of(tree: Dropped) -> str:
    """What is wrong with a folder that was taken down, or nothing."""
    with tempfile.TemporaryDirectory() as name:
        root = Path(name).resolve()
        tree.laid(root / "kit")
        return _ran(root, packed=tree.packed, fresh=tree.fresh)[1]


def again(record: Mapping[str, Any]) -> str:
    """A kept folder, planned again: what is wrong, or nothing."""
    return fault_of(Dropped.of(record))


def wrong(done: Done, root: Path, before: Tree) -> str:
    """What is not as it must be."""
    if done.fault:
        return done.fault
    now = standing(root).files
    if changed := [name for name, digest in before.items() if now.get(name) != digest]:
        return f"{changed[0]} of the folder is changed"
    out = root / "home" / "out"
    if done.code >= 2:
        said = done.err.strip()
        if out.exists():
            return "something was written"
        longest = LONGEST + 160  # the command may tell on the side where an archive was unpacked
        return "" if 0 < len(said) <= longest else f"refused in {len(said)} characters: {said[:200]}"
    return next(_results(out, done), "")


def _results(out: Path, done: Done) -> Iterator[str]:
    try:
        names = json.loads((out / "written.json").read_text(encoding="utf-8"))
        plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        yield f"the results are not whole: {error}"
        return
    there = {path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()}
    if there != {*names, "written.json"}:
        yield f"the files are not those that are named: {sorted(there ^ {*names, 'written.json'})[:3]}"
    masses = {part["part"]: part["mass_g"] for part in plan["parts"]}
    nowhere = {miss["piece"] for miss in plan["fits_nowhere"]}  # of which nothing can be printed, in words
    told = {piece["part"] for piece in plan["pieces"] if piece["piece"] in nowhere}
    if not all(math.isfinite(mass) and (mass > 0.0 or name in told) for name, mass in masses.items()):
        yield f"a part weighs nothing: {masses}"
    placed = [piece["piece"] for batch in plan["batches"] for piece in batch["placed"]]
    pieces = [piece["piece"] for piece in plan["pieces"]]
    aside = {row["piece"] for row in plan["fits_nowhere"]}
    if len(placed) != len(set(placed)) or set(pieces) - aside != set(placed):
        yield f"pieces that lie on no bed, or twice: {sorted(set(pieces) ^ set(placed))[:3]}"
    if any(len(line) > 80 for line in done.out.splitlines() if "Report" not in line and line.isascii()):
        yield f"wider than 80 columns: {max(done.out.splitlines(), key=len)[:120]}"
