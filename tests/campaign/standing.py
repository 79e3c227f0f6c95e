"""What lies in a folder, to be held against what lay there before: files by content, facts by their rows."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

Tree = dict[str, str]  # digest by path
OWN = ("home/said", "home/errors", "home/steps")
STORE = ("-wal", "-shm")  # SQLite's own files beside a store, which belong to it
LEDGER = "ledger.sqlite"


@dataclass(frozen=True)
class Standing:
    """Files of a place by digest, without the streams; rows of its ledger, ``None`` where there is none."""

    files: Tree
    facts: tuple[tuple[str, ...], ...] | None
    store: str = ""  # what SQLite finds wrong with it

    def results(self, out: str) -> Tree:
        """What lies in a folder of results."""
        return {name: own for name, own in self.files.items() if name.startswith(f"home/{out}/")}

    def rest(self, outs: tuple[str, ...]) -> Tree:
        """All files outside of results, kept estimates and the ledger."""
        aside = (*(f"home/{out}/" for out in outs), "home/cache/")
        return {n: own for n, own in self.files.items() if not f"{n}/".startswith(aside) and LEDGER not in n}

    @property
    def names(self) -> set[str]:
        """Every path, but for SQLite's own files."""
        return {name for name in self.files if not name.endswith(STORE)}


def standing(place: Path) -> Standing:
    """All below a place, empty folders too; a ledger is read from a copy, so that nothing is tidied there."""
    files = {
        path.relative_to(place).as_posix(): _digest(path)
        for path in sorted(place.rglob("*"))
        if path.is_file() or (path.is_dir() and not any(path.iterdir()))
    }
    files = {name: own for name, own in files.items() if name not in (*OWN, "home/tmp")}
    found = next((path for path in place.rglob(LEDGER)), None)
    if found is None or not found.stat().st_size:
        return Standing(files, None)
    with tempfile.TemporaryDirectory() as copy:
        for path in found.parent.glob(f"{LEDGER}*"):
            shutil.copy(path, copy)
        return Standing(files, *_facts(Path(copy) / LEDGER))


def _facts(path: Path) -> tuple[tuple[tuple[str, ...], ...] | None, str]:
    """Rows of a ledger, without the moment of now; ``None`` where it has no table yet."""
    try:
        with closing(sqlite3.connect(path)) as store:
            (sound,) = store.execute("PRAGMA integrity_check").fetchone()
            if not store.execute("SELECT count(*) FROM sqlite_master WHERE name = 'fact'").fetchone()[0]:
                return None, "" if sound == "ok" else sound
            rows = store.execute("SELECT kind, about, uid, data FROM fact ORDER BY seq").fetchall()
            return tuple(tuple(map(str, row)) for row in rows), "" if sound == "ok" else sound
    except sqlite3.DatabaseError as error:
        return None, str(error)


def _digest(path: Path) -> str:
    return "folder" if path.is_dir() else hashlib.sha256(path.read_bytes()).hexdigest()[:16]
