"""Text from files made safe to write: no lone surrogates, nothing that XML forbids."""

from __future__ import annotations

import html
import re
from functools import lru_cache

# Source: XML 1.0 (fifth edition), production 2, Char; the complement of it.
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NOT_IN_FILE_NAMES = re.compile(r"[^A-Za-z0-9._-]+")
_LONGEST_NAME = 48
_OFTEN_SHORTER = 100  # letters of what is told often: names, colours, styles of lines
_OPENS_A_FORMULA = (*"=+-@|\t\r\n", *"\uff1d\uff0b\uff0d\uff20\uff5c\u2212")


def clean(text: str) -> str:
    """The text with every character that UTF-8 or XML refuses replaced by U+FFFD."""
    if text.isascii() and text.isprintable():
        return text  # as nearly all are, and told in no time
    return _NOT_XML.sub("\ufffd", text)


def escaped(text: object) -> str:
    """Text for the inside of an element or a quoted attribute of HTML, SVG or XML."""
    words = str(text)
    return _escaped(words) if len(words) < _OFTEN_SHORTER else html.escape(clean(words), quote=True)


@lru_cache(maxsize=4096)
def _escaped(words: str) -> str:
    """Short words, of which drawings say the same ones again and again."""
    return html.escape(clean(words), quote=True)


def file_name(text: str, fallback: str = "unnamed") -> str:
    """A name that every file system takes: ASCII letters, digits, dash, dot and underscore.

    Never empty, hidden, a way out of the folder, or longer than 48 characters.
    """
    safe = _NOT_IN_FILE_NAMES.sub("_", text).strip("._-")
    return safe[:_LONGEST_NAME].strip("._-") or fallback


def sheet_text(text: str) -> str:
    """Text for a cell of a table file: never taken for a formula by what opens it.

    A leading ``= + - @ |``, their full-width forms, tab or line break gets an apostrophe before it
    (Source: OWASP, CSV injection; full-width forms: Unicode, block FF00, which some programs read alike).
    """
    safe = clean(text)
    return f"'{safe}" if safe[:1] in _OPENS_A_FORMULA else safe
