"""A package beside this one adds filaments, as the how-to says."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from planner.api import table_text
from planner.errors import RecordError
from planner.io.records.builtin import builtin_filaments
from planner.plug_ins import FILAMENTS
from tests.added_package import Install

HOW_TO = (Path(__file__).parents[3] / "docs" / "howto_filament.md").read_text(encoding="utf-8")


def test_the_how_to_adds_a_filament(install: Install) -> None:
    """It is in the table with its source, like the one that it names, and in no other place changed."""
    before = builtin_filaments()
    program = re.findall(r"```python\n# my_filaments.py\n(.*?)```", HOW_TO, flags=re.DOTALL)[0]
    named = tomllib.loads(re.findall(r"```toml\n(.*?)```", HOW_TO, flags=re.DOTALL)[0])
    value = named["project"]["entry-points"][FILAMENTS]["mine"]
    install(FILAMENTS, "my_filaments", program, f"mine = {value}")
    after = builtin_filaments()
    assert list(after) == [*before, "rPETG"]
    assert {name: after[name] for name in before} == before
    assert after["rPETG"].solid_g_per_cm3 == 1.28
    assert after["rPETG"].nozzle_c == before["PETG"].nozzle_c
    told = table_text("filaments")
    assert "rPETG" in told
    assert "five weighed cubes" in " ".join(told.split())
    assert max(map(len, told.splitlines())) <= 80


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("ROWS = 3", "they are no text"),
        ("import no_such_thing", "cannot be loaded .ModuleNotFoundError"),
        ("ROWS = '[[filament]]\\nname = \"x\"\\nsolid = 1'", "filaments of broken_rows:ROWS.*'solid'"),
    ],
)
def test_wrong_rows_are_refused_with_their_package(
    text: str, told: str, install: Install, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No traceback, and a name to look for."""
    monkeypatch.delitem(__import__("sys").modules, "broken_rows", raising=False)
    install(FILAMENTS, "broken_rows", text, "mine = broken_rows:ROWS")
    with pytest.raises(RecordError, match=told):
        builtin_filaments()


def test_what_is_built_in_is_never_replaced(install: Install, monkeypatch: pytest.MonkeyPatch) -> None:
    """A row of the name of a built-in one is passed over."""
    monkeypatch.delitem(__import__("sys").modules, "own_pla", raising=False)
    row = 'ROWS = \'[[filament]]\\nname = "PLA"\\nmaterial = "chalk"\\nsolid_g_per_cm3 = 2.7\''
    before = builtin_filaments()
    install(FILAMENTS, "own_pla", row, "mine = own_pla:ROWS")
    assert builtin_filaments() == before
