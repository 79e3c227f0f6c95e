"""Words that are read plainly: the same values, and the same refusals, as the library of the command line."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Annotated, Any

import pytest
import typer

from planner.cli.main import app
from planner.cli.plain_values import UNREADABLE, reader_of

WORDS = ("x", "", " a b ", "ümlaut", "\udcff", "5", "-1", "1.5", "nan", "9" * 30, "a/b/../c", "~", ".", "\0")
TOP: Any = typer.main.get_command(app)
PARAMS = [
    pytest.param(command, param, id=f"{name} {param.name}")
    for name, command in {"": TOP, **TOP.commands}.items()
    for param in command.get_params(typer.Context(command))
]


def read(param: Any, command: Any, value: Any, *, plainly: bool) -> Any:
    """A value, or kind and sentence of what was raised."""
    process = param.process_value if plainly else lambda *words: type(param).process_value(param, *words)
    try:
        found = process(typer.Context(command), value)
    except Exception as error:
        return type(error), str(error)
    return type(found), found


@pytest.mark.parametrize(("command", "param"), PARAMS)
def test_every_option_takes_and_refuses_what_the_library_does(command: Any, param: Any) -> None:
    many = param.multiple or param.nargs == -1
    values = [None, *((word,) if many else word for word in WORDS), WORDS[:3] if many else param.default]
    for value in values:
        if param.is_eager and value:
            continue  # help: it is said, and that is the end
        told, asked = (read(param, command, value, plainly=plainly) for plainly in (True, False))
        assert told == asked, value


def test_a_file_that_may_not_be_read_is_refused_by_the_library(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("planner.cli.plain_values.os.access", lambda *words: False)
    path = reader_of(Annotated[Path | None, typer.Option()])
    assert path is not None
    assert path(str(tmp_path / "new")) == tmp_path / "new"
    with pytest.raises(ValueError, match=UNREADABLE):
        path(str(tmp_path))


@pytest.mark.parametrize("hint", [None, int, float | None, bool, str | int])
def test_whatever_has_no_reader_here_is_left_to_the_library(hint: Any) -> None:
    assert reader_of(hint) is None


def test_a_plan_needs_no_second_library_for_its_words() -> None:
    code = (
        "import sys; from planner.cli import main; main.say_left = lambda *given: sys.exit(7)\n"
        "sys.argv = ['planner', 'plan', 'parts', '--effort', 'quick', '--copies', '2', '--option', 'a=b']\n"
        "try: main.main()\nexcept SystemExit as end: print(end.code, 'pydantic' in sys.modules)"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert said == "7 False\n"
