"""A text as an attribute of XML, without the networking that the standard library's module loads for it."""

from __future__ import annotations

_ESCAPED = (("&", "&amp;"), (">", "&gt;"), ("<", "&lt;"), ("\n", "&#10;"), ("\r", "&#13;"), ("\t", "&#9;"))


def quoted(text: str) -> str:
    """The value in quotes, escaped as ``xml.sax.saxutils.quoteattr`` does it.

    Source: XML 1.0, 2.4 and 3.3.3 (line ends and tabs would become blanks).
    """
    for sign, told in _ESCAPED:
        text = text.replace(sign, told)
    if '"' not in text:
        return f'"{text}"'
    return f"'{text}'" if "'" not in text else '"' + text.replace('"', "&quot;") + '"'
