"""Timed runs and failures."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from planner.learning.failures import failure_rate, failure_rates
from planner.learning.minutes import learned_minutes
from planner.model.learned import TimedRun

RUN = TimedRun("bed 1", "one", "PLA", 126.0, 106.0, 6.0)


def test_one_run_by_hand() -> None:
    """ln 1.2 = 0.182322; printer 0.10^2, filament on it 0.05^2, rest 0.03^2: 0.01 / 0.0134 of it."""
    learned = learned_minutes([RUN])
    assert math.log(learned.factor("one")) == pytest.approx(0.182322 * 0.01 / 0.0134, abs=5e-7)
    told = {(one.kind, one.name): one for one in learned.factors()}
    assert math.log(told["minutes of", "PLA on one"].factor) == pytest.approx(
        0.182322 * 0.0025 / 0.0134, abs=5e-7
    )
    assert told["minutes of printer", "one"].facts == 1


def test_heat_up_is_no_part_of_it() -> None:
    """The same ratio of what is printed teaches the same."""
    longer = replace(RUN, measured=140.0, predicted=120.0, heat_up=20.0)
    assert learned_minutes([longer]).factor("one") == learned_minutes([RUN]).factor("one")


def test_what_tells_nothing_or_is_far_off_is_left_out() -> None:
    """A run of minutes, and one that a stopped clock made ten times as long."""
    short = replace(RUN, measured=9.0, predicted=8.0)
    odd = replace(RUN, bed="bed 9", measured=1200.0)
    good = [replace(RUN, bed=f"bed {n}", measured=126.0 + n) for n in range(5)]
    learned = learned_minutes([*good, short, odd])
    assert learned.doubted == (odd,)
    assert learned.runs == tuple(good)
    assert learned.factor("one") == learned_minutes(good).factor("one")
    assert learned_minutes([]).factor("none") == 1.0


def test_many_runs_find_the_truth() -> None:
    """Forty runs of two filaments on two printers, one of them a quarter slower."""
    rng = np.random.default_rng(4)
    runs = [
        TimedRun(
            f"bed {n}", printer, filament, 5.0 + 100.0 * slow * math.exp(rng.normal(0.0, 0.03)), 105.0, 5.0
        )
        for printer, slow in (("one", 1.25), ("two", 1.0))
        for filament in ("PLA", "PETG")
        for n in range(10)
    ]
    learned = learned_minutes(runs)
    assert learned.factor("one") == pytest.approx(1.25, rel=0.08)
    assert learned.factor("two") == pytest.approx(1.0, rel=0.04)


def test_a_failure_rate_by_hand() -> None:
    """Prior 0.002 an hour is one failure in 500 h: after 3 in 300 h it is 4 / 800."""
    assert failure_rate("one", 3, 300.0, 0.002).per_hour == pytest.approx(0.005)
    assert failure_rate("one", 0, 0.0, 0.002).per_hour == pytest.approx(0.002)
    assert failure_rate("one", 0, 500.0, 0.002).per_hour == pytest.approx(0.001)
    assert failure_rate("one", 0, 50.0, 0.0).per_hour == 0.0
    assert failure_rate("one", 1, 0.5, 0.0).per_hour == 1.0
    assert failure_rate("one", 0, 0.0, 0.0).per_hour == 0.0


def test_rates_by_printer_and_of_all() -> None:
    """Hours and failures of each, and their sums."""
    runs = [("one", 10.0, False), ("two", 2.0, True), ("one", 5.0, True)]
    each, whole = failure_rates(runs, 0.01)
    assert [(one.printer, one.failures, one.hours) for one in each] == [("one", 1, 15.0), ("two", 1, 2.0)]
    assert (whole.failures, whole.hours) == (2, 17.0)
    assert whole.per_hour == pytest.approx(3.0 / 117.0)


def test_a_filament_on_a_printer_by_hand() -> None:
    """Both terms of one run: ln 1.2 x (0.01 + 0.0025) / 0.0134; of another filament the printer's alone."""
    learned = learned_minutes([RUN])
    assert math.log(learned.factor("one", "PLA")) == pytest.approx(0.182322 * 0.0125 / 0.0134, abs=5e-7)
    assert learned.factor("one", "TPU") == learned.factor("one")
