"""One page for one workspace: a lock that ends with its process, however that ends."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import IO

from planner.api.left import locked
from planner.errors import InputError

NAME = ".page.lock"


class WorkspaceLock:
    """Held from ``take`` to ``leave``; the operating system drops it when the process dies.

    Raises
    ------
    InputError
        when another page serves the workspace
    """

    def __init__(self, workspace: Path) -> None:
        self._path = workspace / NAME
        self._stream: IO[str] | None = None

    def take(self, address: str) -> None:
        """Lock the workspace; says at which address the other page is when it is taken."""
        stream = self._path.open("a+", encoding="utf-8")
        if not locked(stream):
            stream.close()
            who = self._holder()
            raise InputError(
                f"another page (process {who.get('process', '?')}) serves this workspace"
                f" at {who.get('address', 'an address it did not write down')}.",
                where=str(self._path.parent),
                next_step="Use that page, end it, or choose another --workspace.",
            )
        self._stream = stream
        note = self._path.with_suffix(".json")
        note.write_text(json.dumps({"process": os.getpid(), "address": address}), encoding="utf-8")

    def _holder(self) -> dict[str, object]:
        try:
            told = json.loads(self._path.with_suffix(".json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return told if isinstance(told, dict) else {}

    def leave(self) -> None:
        """Give the workspace free."""
        if self._stream is not None:
            self._path.with_suffix(".json").unlink(missing_ok=True)
            self._stream.close()
            self._stream = None
