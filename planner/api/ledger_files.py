"""The ledger as a file, for the page: what is dropped, what is taken away, whether it changed since."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from planner.api.ledger_place import LEDGER_FILE

__all__ = ["LEDGER_FILE", "check_ledger", "ledger_copy", "ledger_stamp"]


def check_ledger(path: Path) -> None:
    """Look through a ledger that came from elsewhere.

    Raises
    ------
    RecordError
        for what is no ledger of this version or an earlier one, whole
    """
    from planner.ledger.handed import look_through

    look_through(path)


def ledger_copy(path: Path) -> bytes:
    """A ledger as it is now, as one file.

    Raises
    ------
    RecordError
        where it is damaged
    """
    from planner.ledger.handed import copied

    with TemporaryDirectory() as folder:
        copied(path, Path(folder) / LEDGER_FILE)
        return (Path(folder) / LEDGER_FILE).read_bytes()


def ledger_stamp(path: Path) -> str:
    """Changes when a fact is told; asked often, so nothing is read for it. Empty without a ledger."""
    told = []
    for file in (path, path.with_name(f"{path.name}-wal")):
        try:
            found = file.stat()
        except OSError:
            continue
        told.append(f"{found.st_size} {found.st_mtime_ns}")
    return " ".join(told)
