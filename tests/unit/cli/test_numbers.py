"""Numbers on the command line are plain digits within their limits."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from typing import Any, get_args, get_type_hints

import pytest
import typer
from typer.models import OptionInfo
from typer.testing import CliRunner

from planner.cli.main import app
from planner.cli.numbers import number, whole

ODD = ["1_0", "١٠", "0x10", "", " ", "1 0", "+-1", "9" * 5000, "1e400", "nan", "inf", "one"]
LONGEST = 140


@pytest.mark.parametrize("text", [*ODD, "1.0", "0", "51", "-1"])
def test_what_is_no_whole_number_is_refused(text: str) -> None:
    """In one sentence that names the limits and stays short."""
    with pytest.raises(typer.BadParameter) as caught:
        whole(1, 50)(text)
    assert caught.value.message.endswith("is not a whole number from 1 to 50.")
    assert len(caught.value.message) <= LONGEST


@pytest.mark.parametrize("text", [*ODD, "-0.1"])
def test_what_is_no_number_is_refused(text: str) -> None:
    """A number that is none is no number of grams."""
    with pytest.raises(typer.BadParameter) as caught:
        number(0.0)(text)
    assert caught.value.message.endswith("is not a number of 0 or more.")
    assert len(caught.value.message) <= LONGEST
    with pytest.raises(typer.BadParameter, match="from 0 to 5"):
        number(0.0, 5.0)("5.1")


def test_plain_digits_are_taken() -> None:
    """At both limits, with a sign or blanks around; a default comes as a number."""
    assert [whole(0, 50)(text) for text in ("0", "50", "+7", " 7 ", "007")] == [0, 50, 7, 7, 7]
    assert [number(0.0, 5.0)(text) for text in ("0", "5", "1.5", "2.", "1e-3")] == [0.0, 5.0, 1.5, 2.0, 0.001]
    default: Any = 3
    assert whole(0, 5)(default) == 3
    assert number(0.0)(default) == 3.0


WORDS = {"plan": ["kit"], "tradeoff": ["kit"], "check": ["kit"], "record": ["bed 1", "failed"]}
WORDS |= {"spool": ["add", "a", "PLA", "1"], "page": []}


def numbers_of_commands() -> Iterator[tuple[str, str]]:
    """Every option of every command that holds a number."""
    for command in app.registered_commands:
        assert command.callback is not None
        hints = get_type_hints(command.callback, include_extras=True)
        for name, parameter in inspect.signature(command.callback).parameters.items():
            kind, *said = get_args(hints.get(name, parameter.annotation)) or (None,)
            options = [each for each in said if isinstance(each, OptionInfo)]
            if options and {int, float} & {kind, *get_args(kind)}:
                yield command.callback.__name__, str(options[0].default)


def test_no_option_takes_a_number_as_only_programs_write_it() -> None:
    """Each of them refuses ``1_0`` before anything is read."""
    found = sorted(set(numbers_of_commands()))
    assert {option for _, option in found} >= {"--seed", "--jobs", "--port", "--layer", "--height", "--tare"}
    for command, option in found:
        done = CliRunner().invoke(app, [command, *WORDS[command], option, "1_0"])
        assert done.exit_code == 2, (command, option)
        assert "'1_0' is not a" in done.output, (command, option, done.output)
