"""Numbers, nesting and blanks in records that no later step could hold: one sentence each, never long."""

from __future__ import annotations

import time
from decimal import Decimal
from pathlib import Path

import pytest

from planner.cli.options import Search
from planner.errors import LONGEST, InputError, PlannerError, RecordError
from planner.io.toml_file import parse_toml
from planner.model.effort import MOST_SEED
from planner.pipeline.job import Job
from planner.report.plain import sheet_text
from planner.units import parse_money, to_minor
from tests.kits.jobs import random_job

TOO_MUCH = {
    "400 digits": "clear_minutes = " + "9" * 400,
    "5,000 digits": "clear_minutes = " + "9" * 5000,
    "5,000 digits of base 16": "clear_minutes = 0x" + "f" * 5000,
    "within a list": "keep_outs = [[[0, 1" + "0" * 30 + "]]]",
    "1,200 lists": "x = " + "[" * 1200 + "]" * 1200,
    "60 lists": "x = " + "[" * 60 + "]" * 60,
    "60 tables": "x." * 60 + "y = 1",
    "year 1": "away = [0001-01-01]",
    "year 9999": "at = 9999-12-31T23:59:00",
}


@pytest.mark.parametrize("text", TOO_MUCH.values(), ids=TOO_MUCH)
def test_too_much_is_one_sentence(text: str) -> None:
    """Named by file and key, within 500 characters."""
    with pytest.raises(RecordError) as caught:
        parse_toml(text, "workshop.toml")
    assert "workshop.toml" in str(caught.value)
    assert len(str(caught.value)) <= LONGEST


def test_what_just_can_be_held() -> None:
    """63 bits, 40 lists, two centuries."""
    text = f"a = {2**63 - 1}\nb = {-(2**63) + 1}\nc = {'[' * 40}{']' * 40}\nd = 2200-12-31\ne = 1970-01-01"
    assert parse_toml(text, "x").values["a"] == 2**63 - 1


@pytest.mark.parametrize("count", [3_000, 200_000])
@pytest.mark.parametrize("form", ['"{}x" = 1', '[{}a."b]"]', '[{}"a]{}"]', '{}"x" = 1', "x = 1 {}", "[a{}]"])
def test_blanks_without_end(form: str, count: int) -> None:
    """Lines are found in time that grows with the text, whatever it holds."""
    began = time.process_time()
    text = form.format(" " * count, " " * count) if form.count("{}") == 2 else form.format(" " * count)
    file = parse_toml(text, "x")
    assert file.line(("", 0), "nothing") is None
    assert time.process_time() - began < 1.0


def test_a_header_with_blanks_is_found() -> None:
    """As before, the name is what stands between them."""
    file = parse_toml('[  part . "a"  ]  # so\nx = 1\n[[ other ]]\ny = 2\n', "x")
    assert file.line(("part.a", 0), "x") == 2
    assert file.line(("other", 0), "y") == 4


@pytest.mark.parametrize("text", ["NaN EUR", "NaN", "1_0 EUR", "1e20 EUR", "١٠ EUR", "9" * 70 + " EUR"])
def test_prices_that_are_none(text: str) -> None:
    """Only plain digits are an amount."""
    with pytest.raises(InputError) as caught:
        parse_money(text)
    assert len(str(caught.value)) <= LONGEST


@pytest.mark.parametrize(
    "text", ["100000000000000000000 EUR", "-100000000000000000000 EUR", "1" * 60 + " JPY"]
)
def test_prices_that_nobody_counts(text: str) -> None:
    """1e20 is refused with the limit; a million millions is counted."""
    amount, code = parse_money(text)
    with pytest.raises(InputError, match="limit is 1e"):
        to_minor(amount, code)
    assert to_minor(Decimal(10) ** 12, "EUR") == 10**14


def test_seeds_have_a_limit() -> None:
    """Of the value and of the option; the last that is allowed is taken."""
    job = random_job(1)
    with pytest.raises(RecordError, match="seed"):
        Job(job.airframe, job.workshop, job.meshes, job.start, seed=2**63 - 1)
    with pytest.raises(RecordError, match="seed"):
        Job(job.airframe, job.workshop, job.meshes, job.start, seed=-1)
    assert Job(job.airframe, job.workshop, job.meshes, job.start, seed=MOST_SEED).seed == MOST_SEED
    assert Search().seed == 1


def test_no_message_is_longer_than_can_be_read() -> None:
    """Foreign values are cut, the next step stays."""
    said = str(RecordError("x" * 9000, where="/a/" + "y" * 900 + "/workshop.toml", next_step="Do this."))
    assert len(said) <= LONGEST
    assert said.endswith("… Do this.")
    assert "workshop.toml: xxx" in said
    assert len(str(PlannerError("x" * 600, next_step="z" * 600))) <= LONGEST
    assert str(RecordError("short.", where="here", next_step="Go.")) == "here: short. Go."


@pytest.mark.parametrize("opens", [*"=+-@|\t", "＝", "＋", "－", "＠", "｜", "−"])
def test_cells_that_open_a_formula(opens: str, tmp_path: Path) -> None:
    """Also with full-width signs, and the pipe."""
    assert sheet_text(f"{opens}cmd") == f"'{opens}cmd"
    assert sheet_text(f"a{opens}b") == f"a{opens}b"
    assert tmp_path.exists()
