"""Files of the results folder: one by one, and all in one archive."""

from __future__ import annotations

import mimetypes
import tempfile
import zipfile
from pathlib import Path
from typing import IO

from planner.api.ledger_files import LEDGER_FILE, ledger_copy
from planner.web.ledger import place_for
from planner.web.workspace import RESULTS, NotHere

# A drawing or report brings its own style; it may run nothing and fetch nothing.
OWN_STYLE = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; sandbox"
SHOWN = (".html", ".svg")
_KINDS = {".3mf": "model/3mf", ".ics": "text/calendar", ".svg": "image/svg+xml", ".stl": "model/stl"}


def result_files(folder: Path) -> list[tuple[str, int]]:
    """Path inside the results folder and size of every file, in order."""
    results = folder / RESULTS
    if not (results / "plan.json").is_file():
        return []
    found = sorted(path for path in results.rglob("*") if path.is_file() and path.name != "written.json")
    return [(path.relative_to(results).as_posix(), path.stat().st_size) for path in found]


def result_file(folder: Path, inside: str) -> Path:
    """The file of that path.

    Raises
    ------
    NotHere
        when the results hold no such file; a path that leads out is never one of them
    """
    if inside not in {name for name, _ in result_files(folder)}:
        raise NotHere(inside)
    return folder / RESULTS / inside


def kind_of(path: Path) -> str:
    """Media type of a file."""
    return _KINDS.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"


def archive(folder: Path) -> IO[bytes]:
    """Everything of the results folder and the ledger as one zip archive, from its beginning."""
    made = tempfile.SpooledTemporaryFile(max_size=8_000_000)  # noqa: SIM115 - the answer closes it
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as opened:
        for name, _ in result_files(folder):
            opened.write(folder / RESULTS / name, f"{folder.name}/{name}")
        if (ledger := place_for(folder).file).is_file():
            opened.writestr(f"{folder.name}/{LEDGER_FILE}", ledger_copy(ledger))
    made.seek(0)
    return made
