"""The secret for the browser, handed over in a private file that is good for one use."""

from __future__ import annotations

import contextlib
import os
import secrets
import threading
from pathlib import Path

from markupsafe import escape

NAME = "open_page.html"


class Handover:
    """A file that only its owner reads and that leads a browser to the page once.

    A command line shows to every user of the machine; the name of the file tells nothing.
    """

    def __init__(self, folder: Path, address: str) -> None:
        self._secret: str | None = secrets.token_urlsafe(24)
        self._lock = threading.Lock()
        self.file = folder / NAME
        self.file.unlink(missing_ok=True)
        target = escape(f"{address}?token={self._secret}")
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL
        with os.fdopen(os.open(self.file, flags, 0o600), "w", encoding="utf-8") as stream:
            stream.write(
                '<!DOCTYPE html><meta charset="utf-8"><meta name="referrer" content="no-referrer">'
                f'<meta http-equiv="refresh" content="0;url={target}"><title>planner</title>'
            )

    def take(self, given: str) -> bool:
        """Whether this is the secret of the file; it is used up then, and the file is gone."""
        with self._lock:
            if self._secret is None or not secrets.compare_digest(given.encode(), self._secret.encode()):
                return False
            self._secret = None
        self.leave()
        return True

    def leave(self) -> None:
        """Take the file away."""
        self._secret = None
        with contextlib.suppress(OSError):
            self.file.unlink(missing_ok=True)
