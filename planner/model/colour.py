"""Colours as they are written: small letters, so that one is found again."""

from __future__ import annotations

from planner.errors import RecordError

MOST_COLOUR = 40  # letters


def colour_word(text: object) -> str | None:
    """A colour as it is compared, in small letters and single blanks; ``None`` where it is none."""
    word = " ".join(text.split()).lower() if isinstance(text, str) else ""
    return word if word and len(word) <= MOST_COLOUR and word.isprintable() else None


def check_colour(text: str, key: str) -> None:
    """Refuse a colour that would not be found again for how it is written; empty: none is told."""
    if text and text != colour_word(text):
        raise RecordError(
            f"{key} = {text!r} is no word of at most {MOST_COLOUR} small letters.",
            next_step='Write it like "red" or "signal orange".',
        )
