"""Numbers in bulk are, to the bit, those that plain Python reads; what is not plain is left to the parser."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.io.meshes.threemf_kernel import elements

NAMES = (b"x", b"y", b"z", b"pid")


def read(text: str, most: int = 8, whole: bool = False) -> tuple[int, list[list[float]], list[list[str]]]:
    """Count, values, and the texts that stand where the kernel says."""
    starts = np.cumsum([0, *(len(name) for name in NAMES)])
    values = np.full((most, 3), -99.0)
    where, lengths = np.zeros((most, 3), np.uint32), np.zeros((most, 3), np.uint8)
    data = np.frombuffer(text.encode("utf-8"), np.uint8)
    tag, names = np.frombuffer(b"vertex", np.uint8), np.frombuffer(b"".join(NAMES), np.uint8)
    count = elements(data, tag, names, starts, whole, values, where, lengths)
    shown = [
        [text[a : a + n] for a, n in zip(where[k], lengths[k], strict=True)] for k in range(max(count, 0))
    ]
    return count, values[: max(count, 0)].tolist(), shown


def one(number: str, whole: bool = False) -> float:
    count, values, shown = read(f'<vertex x="{number}" y="1" z="2"/>', whole=whole)
    assert count == 1
    assert shown == [[number, "1", "2"]]
    assert values[0][1:] == [1.0, 2.0]
    return values[0][0]


def test_elements_one_after_the_other() -> None:
    """In any order of their attributes, with other ones between, and white space as XML has it."""
    text = ' <vertex x="1.5" y="-2e1" z="0"/>\n\t<vertex z="3" pid="9"\r\n x="1" y="2" />'
    count, values, _ = read(text)
    assert (count, values) == (2, [[1.5, -20.0, 0.0], [1.0, 2.0, 3.0]])
    assert read("  \n")[0] == 0


@settings(max_examples=80, deadline=None)
@given(st.floats(-1e6, 1e6, allow_nan=False).map(repr) | st.integers(-(10**15), 10**15).map(str))
@example("0.1")
@example("-0")
@example("9007199254740991")
@example("1e22")
@example("123456789012345678")
@example("1e-23")
def test_a_number_is_that_of_python_or_left_to_it(text: str) -> None:
    """To the bit, also the sign of nought."""
    found = one(text)
    if np.isnan(found):
        return
    assert found == float(text)
    assert np.signbit(found) == np.signbit(float(text))


@pytest.mark.parametrize("text", ["1.5", "-2.25", "+", "1e3", "0.000001", "1E+2", "7.", ".5"])
def test_short_numbers_are_read_here(text: str) -> None:
    """All but what is no number."""
    assert np.isnan(one(text)) == (text == "+")
    if text != "+":
        assert one(text) == float(text)


@pytest.mark.parametrize(
    "text", ["", "-", ".", "1e", "1e+", "1..2", "1,5", "0x1", "nan", "inf", "1 2", "1e99999"]
)
def test_what_is_no_plain_number_is_left_to_the_parser(text: str) -> None:
    assert np.isnan(one(text))


@pytest.mark.parametrize("text", ["1.0", "1e2", "1.", "-.", "x"])
def test_whole_numbers_have_no_point(text: str) -> None:
    assert np.isnan(one(text, whole=True))
    assert one("-12", whole=True) == -12.0


@pytest.mark.parametrize(
    "text",
    [
        '<vertex x="1" y="2"/>',  # one is missing
        '<vertex x="1" y="2" z="3" x="4"/>',  # one is there twice
        '<vertex x="1" y="2" z="3" w="4"/>',  # an unknown one
        '<vertex x="1" y="2" z="3"></vertex>',
        '<vertex x="1" y="2"z="3"/>',  # no space between
        "<vertex x='1' y='2' z='3'/>",
        '<vertex x="1" y="2" z="&amp;"/>',
        '<vertex x="1" y="2" z="<"/>',
        '<vertex x="1" y="2" z="\u00e9"/>',
        '<vertex x="1" y="2" z="3"',
        '<vertex x="1" y="2" z="3',
        '<other x="1" y="2" z="3"/>',
        'text <vertex x="1" y="2" z="3"/>',
        '<!-- a --><vertex x="1" y="2" z="3"/>',
        f'<vertex x="{"0" * 256}" y="2" z="3"/>',
    ],
)
def test_what_is_not_plain_is_left_to_the_parser(text: str) -> None:
    """Also where plain ones stand before it."""
    assert read(text)[0] == -1
    assert read('<vertex x="1" y="2" z="3"/>' + text)[0] == -1


def test_no_more_elements_than_there_is_room_for() -> None:
    element = '<vertex x="1" y="2" z="3"/>'
    assert read(element * 8)[0] == 8
    assert read(element * 9)[0] == -1
