"""Where a case that fails is kept: a file and what is told of it; `tests/fault/test_cases.py` replays it.

What ought to be told is for people to write: until then the fault stands there, and the replay fails.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

CASES = Path(__file__).resolve().parents[1] / "fault" / "cases"
_at: list[Path] = []


def keep_in(folder: Path = CASES) -> None:
    """Keep what fails from now on, in processes that are forked from here, too."""
    _at[:] = [folder]


def keeps() -> bool:
    """Whether anything is kept."""
    return bool(_at)


def kept(name: str, suffix: str, data: bytes, fault: str) -> None:
    """Write the file and its sentence; one of the same bytes is there once."""
    if _at:
        _at[0].mkdir(parents=True, exist_ok=True)
        path = _at[0] / f"{name}_{hashlib.sha256(data).hexdigest()[:8]}{suffix}"
        path.write_bytes(data)
        path.with_name(f"{path.name}.txt").write_text(f"FAILS: {fault}\n", encoding="utf-8")
