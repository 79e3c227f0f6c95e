"""Lines of lettering, strokes and escaped words, each held against the plain way to make them."""

from __future__ import annotations

import html
import math

import numpy as np
import pytest

from planner.report.layout.drawing import lines_of, n, strokes, text_width
from planner.report.layout.letter_widths import BOLD
from planner.report.plain import clean, escaped

LETTERS = list("abcWil.é翼\u0301-")
ODD = [0.0, -0.0, -0.004, 0.005, 1.5, 10.0, 100.05, -10.0, 0.1, -0.1, 1e9, 20.5, 1.005, math.inf, math.nan]


@pytest.mark.parametrize("closed", [True, False])
def test_strokes_tell_each_number_as_a_single_one_is_told(closed: bool) -> None:
    rng = np.random.default_rng(3)
    places, small = rng.uniform(-300, 300, 500).tolist(), rng.normal(0, 0.02, 500).tolist()
    many = [*zip(places, small, strict=True), *((float(x), -x) for x in range(-9, 9))]
    rings = [[(x, y) for x in ODD for y in ODD], many, [(1.0, 2.0)], []]
    end = "Z" if closed else ""
    plain = "".join("M" + "L".join(f"{n(x)} {n(y)}" for x, y in ring) + end for ring in rings)
    assert strokes(rings, closed) == plain


def plain_lines(text: str, size: float, width: float) -> list[str]:
    """Word by word and letter by letter, each line measured whole."""
    lines: list[str] = []
    for word in clean(text).split():
        trial = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(trial, size) <= width:
            lines[-1] = trial
            continue
        lines.append("")
        for letter in word:
            if lines[-1] and text_width(lines[-1] + letter, size) > width:
                lines.append("")
            lines[-1] += letter
    return lines or [""]


@pytest.mark.parametrize("seed", range(20))
def test_lines_break_where_the_plain_way_breaks_them(seed: int) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(40):
        words = ["".join(rng.choice(LETTERS, rng.integers(1, 30))) for _ in range(rng.integers(9))]
        text, size, width = " ".join(words), float(rng.choice([1.9, 2.5, 2.9])), float(rng.uniform(0.5, 90.0))
        assert lines_of(text, size, width) == plain_lines(text, size, width)
        assert lines_of(text, size, width, bold=True) == plain_lines(text, size, width / BOLD)


@pytest.mark.parametrize("times", [1, 400])
def test_words_are_escaped_whether_they_are_short_or_long(times: int) -> None:
    words = "a<b & 'c' \"d\"\x00\x1f\x7f\ud800\ufffe\n\té" * times
    good = words.replace("\x00", "\ufffd").replace("\x1f", "\ufffd")
    good = good.replace("\ud800", "\ufffd").replace("\ufffe", "\ufffd")
    for _ in range(2):  # what was told before is told again
        assert clean(words) == good
        assert escaped(words) == html.escape(good)
    assert (clean("plain words"), clean(""), escaped(1.5)) == ("plain words", "", "1.5")
