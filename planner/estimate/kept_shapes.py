"""What was found of shapes, kept beside the deposits from one plan to the next."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import threading
from collections.abc import Hashable
from functools import cache
from pathlib import Path
from typing import Any

from planner.estimate.cache import code_hash

# All that an answer follows from beside its key.
_ROOMS = ("errors.py", "units.py", "geometry", "model", "weights", "estimate", "pipeline")
_SUM = 32  # letters of the check before the answer


@cache
def finders() -> str:
    """Hash of the code that finds answers: other code may find others for the same shapes."""
    return code_hash(Path(__file__).resolve().parents[1], _ROOMS)


class ShapeFolder:
    """One small file an answer in a folder that may be deleted at any time.

    Files are written beside their place and then moved there; what cannot be read is a miss.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def get(self, name: str, key: Hashable) -> Any:
        """What was put there, ``None`` where the file is missing or damaged."""
        path = self._path(name, key)
        try:
            told, body = path.read_text(encoding="ascii").split("\n", 1)
            if told != _sum(body):
                return None
            os.utime(path)  # so that trimming knows what is in use
            return json.loads(body)
        except (OSError, ValueError):
            return None

    def put(self, name: str, key: Hashable, plain: Any) -> None:
        """Keep an answer; a full or locked disk only means that it is not kept."""
        path = self._path(name, key)
        spare = path.with_suffix(f".{threading.get_ident()}.{os.getpid()}.part")
        body = json.dumps(plain)
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            spare.write_text(f"{_sum(body)}\n{body}", encoding="ascii", newline="\n")
            spare.replace(path)
        except OSError:
            with contextlib.suppress(OSError):
                spare.unlink(missing_ok=True)

    def _path(self, name: str, key: Hashable) -> Path:
        words = f"{finders()} {key!r}".encode()
        return self._folder / f"{name}-{hashlib.blake2b(words, digest_size=20).hexdigest()}.shape"


def _sum(body: str) -> str:
    return hashlib.blake2b(body.encode(), digest_size=_SUM // 2).hexdigest()
