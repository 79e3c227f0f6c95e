"""No name leads out of the workspace."""

from __future__ import annotations

import pytest

from planner.errors import InputError
from planner.web.names import folder_name, is_identifier, safe_path


@pytest.mark.parametrize(
    "name",
    [
        "../x.stl", "a/../../x.stl", "/etc/x.stl", "\\\\host\\x.stl", "..\\x.stl", "C:\\x.stl", "c:x.stl",
        "", "/", "a/.ssh/x.stl", ".hidden.stl", "a\nb.stl", "a\x00b.stl", "x" * 200 + ".stl",
        "a/" * 20 + "x.stl", "a/..\\..\\x.stl", "\u202eevil.stl",
    ],
)  # fmt: skip
def test_paths_that_lead_out_or_deceive_are_refused(name: str) -> None:
    """Climbing, absolute, hidden, endless, unprintable names are refused with a sentence."""
    with pytest.raises(InputError) as caught:
        safe_path(name)
    assert caught.value.what.endswith(".")


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("kit/wing [v2] (l).stl", "kit/wing [v2] (l).stl"),
        ("kit\\sub\\rib.stl", "kit/sub/rib.stl"),
        ("./kit//rib.stl", "kit/rib.stl"),
        ("a<b>|c.stl", "a_b__c.stl"),
        ("con.stl", "_con.stl"),
        ("rib.stl. ", "rib.stl"),
        ("flügel.stl", "flügel.stl"),
    ],
)
def test_good_names_stay_as_they_are_where_every_system_takes_them(name: str, kept: str) -> None:
    """Blanks, brackets and letters with marks stay; what one system forbids becomes a line."""
    assert safe_path(name).as_posix() == kept


@pytest.mark.parametrize("name", ["Shoreline survey glider", "../../x", "<b>", "", "CON", "日本", "a" * 300])
def test_a_folder_name_is_always_an_identifier(name: str) -> None:
    """Whatever the airframe is called."""
    assert is_identifier(folder_name(name))


@pytest.mark.parametrize("name", ["..", ".", "", "a/b", "a\\b", ".page", "a\n", "a..b", "a."])
def test_what_is_no_identifier(name: str) -> None:
    """Nothing that a path could be made of."""
    assert not is_identifier(name)
