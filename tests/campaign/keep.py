"""Where a case that fails is kept: a file and what is told of it; `tests/fault/test_cases.py` replays it.

What ought to be told is for people to write: until then the fault stands there, and the replay fails.
A case of more than a file is kept as what it was drawn from, in JSON, with the fault that it had;
`tests/fault/test_kept_campaigns.py` has the campaign run it again, and nothing may be wrong with it then.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

CASES = Path(__file__).resolve().parents[1] / "fault" / "cases"
CAMPAIGNS = "campaigns"  # folder of those
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


def kept_case(kind: str, drawn: Mapping[str, Any], fault: str) -> None:
    """Write what a case of a campaign is drawn from, and the fault that it has; the same is there once."""
    if _at:
        own = json.dumps(drawn, sort_keys=True).encode("utf-8")
        folder = _at[0] / CAMPAIGNS
        folder.mkdir(parents=True, exist_ok=True)
        record = {"kind": kind, "failed": " ".join(fault.split())[:500], **drawn}
        path = folder / f"{kind}_{hashlib.sha256(own).hexdigest()[:8]}.json"
        path.write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")
