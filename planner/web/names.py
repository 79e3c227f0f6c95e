"""Names that come from a browser, made safe: no path leaves the workspace."""

from __future__ import annotations

import re
import unicodedata
from pathlib import PurePosixPath

from planner.errors import InputError

MOST_BYTES = 120  # of one name; file systems take 255 and temporary names are longer
MOST_DEEP = 12
# Source: Microsoft, "Naming Files, Paths, and Namespaces": reserved device names and characters.
_DEVICES = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE)
_NOT_HERE = re.compile(r'[<>:"|?*\\]')
_IDENTIFIER = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ()._-]{0,79}")


def safe_path(text: str) -> PurePosixPath:
    """The relative path of a file that is dropped; its letters stay where every system takes them.

    Raises
    ------
    InputError
        when it is absolute, climbs out, is hidden, too long or too deep
    """
    steps = unicodedata.normalize("NFC", text).replace("\\", "/").split("/")
    steps = [step for step in steps if step not in ("", ".")]
    shown = text[:80].encode("unicode_escape").decode("ascii")
    if not steps or text[:1] in ("/", "\\") or ".." in steps or re.match(r"[A-Za-z]:", text):
        raise InputError(f"the path {shown!r} leads out of the folder.", where="drop")
    if len(steps) > MOST_DEEP:
        raise InputError(f"the path {shown!r} is more than {MOST_DEEP} folders deep.", where="drop")
    return PurePosixPath(*(_step(step, shown) for step in steps))


def _step(step: str, shown: str) -> str:
    if not step.isprintable():
        raise InputError(f"the name {shown!r} holds characters that cannot be printed.", where="drop")
    if step.startswith("."):
        raise InputError(f"{shown!r} is hidden.", where="drop")
    if len(step.encode("utf-8")) > MOST_BYTES:
        raise InputError(f"the name {shown!r} is longer than {MOST_BYTES} bytes.", where="drop")
    step = _NOT_HERE.sub("_", step).rstrip(". ")
    return f"_{step}" if _DEVICES.fullmatch(step) or not step else step


def folder_name(text: str) -> str:
    """A folder name of plain letters for an airframe that is called like this."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    plain = re.sub(r"[^A-Za-z0-9 ()._-]+", "_", plain).strip(" ._-(")[:60].strip(" ._-(")
    if not plain or _DEVICES.fullmatch(plain):
        return "airframe"
    return plain


def is_identifier(text: str) -> bool:
    """Whether a text may stand for an airframe folder in an address."""
    return bool(_IDENTIFIER.fullmatch(text)) and not text.endswith((".", " ")) and ".." not in text
