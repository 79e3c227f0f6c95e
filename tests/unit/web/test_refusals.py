"""What cannot be written is told at the page without options that nobody has there."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from planner.errors import OutputError, RecordError
from planner.io.results import output
from planner.web.refusals import told_at_page
from planner.web.words import say


def refused_by(number: int, out: Path, monkeypatch: pytest.MonkeyPatch) -> OutputError:
    """How writing results is refused when the system gives this error."""

    def fails(*given: object, **more: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(Path, "mkdir", fails)
    with pytest.raises(OutputError) as caught, output.results(out):
        pass
    monkeypatch.undo()
    return caught.value


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EFBIG, errno.EDQUOT])
def test_a_full_disk_is_told_as_everywhere_on_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """It names no --out, which the command line offers."""
    error = refused_by(number, tmp_path / "a" / "out", monkeypatch)
    assert "--out" in str(error)
    assert told_at_page(error) == say("disk_full")


def test_missing_rights_are_told_with_the_folder_and_what_helps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where it lies, why, and who can do something."""
    told = told_at_page(refused_by(errno.EACCES, tmp_path / "a" / "out", monkeypatch))
    assert "--out" not in told
    assert str(tmp_path) in told
    assert os.strerror(errno.EACCES) in told
    assert told.endswith(say("results_place_next"))


def test_other_errors_are_as_they_are() -> None:
    """In the words of the reader."""
    error = RecordError("it is wrong.", where="airframe.toml", next_step="Mend it.")
    assert told_at_page(error) == str(error)
