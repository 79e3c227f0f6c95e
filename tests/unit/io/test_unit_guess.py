"""The unit of a folder whose files declare none."""

from __future__ import annotations

import pytest

from planner.errors import InputError
from planner.io.meshes.unit_guess import guess_unit, unit_named


@pytest.mark.parametrize(
    ("lengths", "unit"),
    [
        ([200.0] * 30, "millimeter"),
        ([10.0] + [200.0] * 9, "millimeter"),  # one small part among large ones is small
        ([10.0] * 20 + [180.0] * 10, "millimeter"),  # many small ones, too
        ([0.2] * 12, "meter"),
        ([0.02] + [0.25] * 5, "meter"),
        ([8.0] * 12, "inch"),
        ([2.0, 5.0, 7.0, 9.0, 8.0], "inch"),
        ([20.0], "millimeter"),  # one file alone says little: a small part in mm
        ([10.0, 10.0], "millimeter"),
        ([600.0] * 3, "millimeter"),
        ([], "millimeter"),
    ],
)
def test_the_folder_as_a_whole_decides(lengths: list[float], unit: str) -> None:
    """The larger parts of an airframe are some 50 to 300 mm long."""
    assert guess_unit(lengths).unit == unit


def test_close_calls_name_the_rival() -> None:
    """A folder of 20s could be small parts in mm or large ones in cm; one of 200s could not."""
    assert guess_unit([20.0] * 12).rival == "centimeter"
    assert guess_unit([200.0] * 12).rival is None


@pytest.mark.parametrize(
    ("word", "unit"),
    [("mm", "millimeter"), ("Inch", "inch"), (" in ", "inch"), ("METRE", "meter"), ("cm", "centimeter")],
)
def test_units_are_known_by_their_usual_words(word: str, unit: str) -> None:
    """Short and long words, any case."""
    assert unit_named(word) == unit


def test_an_unknown_unit_is_an_error() -> None:
    """The message lists what may be written."""
    with pytest.raises(InputError, match=r"furlong.*") as caught:
        unit_named("furlong")
    assert "mm, cm, inch" in str(caught.value)
