"""What is written to a device that is full, or to nobody, is taken without an error."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from planner.cli.streams import Enduring, enduring


def test_nothing_is_passed_on_after_a_failure(tmp_path: Path) -> None:
    """All bytes are taken; those after the failure go nowhere, also when it has passed."""
    read, write = os.pipe()
    os.close(read)
    with Enduring(write, "w") as way:
        assert way.write(b"one") == len(b"one")
        assert way.deaf
        kept = os.open(tmp_path / "file", os.O_CREAT | os.O_WRONLY)
        os.dup2(kept, write)
        os.close(kept)
        assert way.write(b"three") == len(b"three")
    assert (tmp_path / "file").read_bytes() == b""


def test_words_pass_on_in_the_encoding_of_the_stream(tmp_path: Path) -> None:
    """Encoding, what is done with other letters, and when lines are passed on stay as they were."""
    with (tmp_path / "told").open("w", encoding="latin-1", errors="replace") as file:
        stream = enduring(file)
        assert stream is not file
        assert (stream.encoding, stream.errors, stream.line_buffering) == ("latin-1", "replace", False)
        stream.write("Flügel 翼")
        stream.flush()
    assert (tmp_path / "told").read_bytes() == b"Fl\xfcgel ?"


def test_other_streams_stay_as_they_are() -> None:
    """What is read by a test, and what is none at all."""
    text = io.StringIO()
    assert enduring(text) is text
    assert enduring(None) is None


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize(("words", "code"), [(["plan", "--help"], 0), (["plan", "--nothing"], 2)])
def test_help_and_refusals_on_a_full_device(words: list[str], code: int) -> None:
    """The library that prints them does not know that nobody hears; no traceback, the usual code."""
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "planner", *words],
            stdout=full, stderr=subprocess.PIPE if code == 0 else full, check=False, text=True,
        )  # fmt: skip
    assert done.returncode == code
    assert not done.stderr
