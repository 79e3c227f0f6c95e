"""The runner of campaigns: every case once, whatever becomes of its process, the same for any `--jobs`."""

from __future__ import annotations

import os

import numpy as np
import pytest

from tests.campaign import run as runner
from tests.campaign.case import Case
from tests.campaign.kinds import KINDS, Kind, located

HERE = "tests.campaign.test_run"
pytestmark = pytest.mark.skipif(not runner.FORKS, reason="a process that is spawned takes a second each")


def drawn(number: int, seed: int) -> Case:
    """A case that draws."""
    return Case("drawn", number, str(np.random.default_rng([seed, number]).integers(10**9)), "end")


def dies(number: int, seed: int) -> Case:
    """The fifth takes its process with it."""
    if number == 5:
        os._exit(9)
    return drawn(number, seed)


def block(numbers: range, seed: int) -> list[Case]:
    """Each knows the first of its block."""
    return [Case("block", number, f"from {numbers.start}", "end", seconds=seed) for number in numbers]


def test_the_same_cases_for_any_number_of_processes() -> None:
    """In blocks, the last of which is short."""
    kind = Kind("drawn", "", f"{HERE}:drawn", block=4)
    one, three = ({case.number: case for case in runner.run(kind, range(10), 7, jobs)} for jobs in (1, 3))
    assert one == three
    assert sorted(one) == list(range(10))
    assert len({case.what for case in one.values()}) == 10


def test_a_process_that_dies_is_a_fault() -> None:
    """Told by the number of its case; the blocks beside it go on."""
    found = list(runner.run(Kind("dies", "", f"{HERE}:dies", block=3), range(9), 1, 2))
    (lost,) = [case for case in found if case.fault]
    assert (lost.number, lost.fault) == (5, "the process of the case ended with 9")
    assert {case.number for case in found} == set(range(9))


def test_a_case_within_a_block() -> None:
    """Its block begins where it always does; only what was asked for is told."""
    kind = Kind("block", "", f"{HERE}:block", block=4, together=True)
    found = list(runner.run(kind, range(6, 7), 1))
    assert [(case.number, case.what) for case in found] == [(6, "from 4")]


def test_every_kind_is_there() -> None:
    """By its name, with words for whoever asks."""
    assert {"mutate", "folders", "kills", "builds"} <= set(KINDS)
    for name, kind in KINDS.items():
        assert kind.name == name
        assert kind.words
        assert callable(located(kind.place))
        assert not kind.again or (kind.keeps and callable(located(kind.again)))
