"""Words of the command line that choose printers and options."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from planner.api import PlanRequest, read_job
from planner.errors import RecordError
from planner.io.records.builtin import builtin_printers, chosen_printers
from tests.small_job import write_small_job


@pytest.mark.parametrize(
    ("word", "names"),
    [
        ("trio:3", ["trio 1", "trio 2", "trio 3"]),
        ("trio:2", ["trio 1", "trio 2"]),
        ("trio", ["trio 1", "trio 2", "trio 3"]),
        ("trio:4", ["trio 1", "trio 2", "trio 3", "trio 4"]),
        ("trio 2", ["trio 2"]),
    ],
)
def test_a_printer_with_a_count_is_known_by_its_own_name(word, names) -> None:
    """The machines that one table of the workshop makes may be asked for together."""
    (first,) = chosen_printers(("desktop 220",), builtin_printers())
    known = {f"trio {at}": replace(first, name=f"trio {at}") for at in (1, 2, 3)}
    assert [machine.name for machine in chosen_printers((word,), known)] == names


@pytest.mark.parametrize("count", ["1_0", "٣", "0", "501", "9" * 5000, "", "-1", "2.0"])
def test_a_count_of_printers_is_plain_digits(count) -> None:
    """From 1 to 500, refused in a sentence of a line or two."""
    with pytest.raises(RecordError, match="not a whole number from 1 to 500") as told:
        chosen_printers((f"desktop 220:{count}",), builtin_printers())
    assert len(str(told.value)) < 200


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"landng": "skid"}, ("landng", "Did you mean landing?")),
        ({"landing": "skyd"}, ("skyd", "of option 'landing'", "Did you mean skid?")),
    ],
)
def test_a_typo_in_an_option_blames_the_option(options, words, tmp_path) -> None:
    """The refusal names --option and what is near, and no line of the airframe's file."""
    folder = write_small_job(tmp_path / "glider")
    file = folder / "airframe.toml"
    text = file.read_text(encoding="utf-8").replace(
        'mesh = "clip x4.stl"\n', 'mesh = "clip x4.stl"\noption = { landing = "skid" }\n'
    )
    file.write_text(text, encoding="utf-8")
    with pytest.raises(RecordError) as told:
        read_job(PlanRequest((folder,), options=options), datetime(2026, 12, 1, 18, tzinfo=UTC))
    said = str(told.value)
    assert "--option" in said
    assert "airframe.toml" not in said
    for word in words:
        assert word in said
