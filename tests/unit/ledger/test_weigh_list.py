"""Weighed pieces as CSV, facts as CSV and JSON."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.errors import RecordError
from planner.ledger.fact import WEIGHED, Fact
from planner.ledger.weigh_list import COLUMNS, facts_csv, facts_json, grams_of, read_weigh_list


@pytest.mark.parametrize("text", ["29.8", "29,8", " 29.8 g", "29.8g"])
def test_grams_as_people_write_them(text: str) -> None:
    """Point or comma, with the unit or without."""
    assert grams_of(text, "here") == 29.8


@pytest.mark.parametrize("text", ["", "0", "-3", "nan", "inf", "a lot", "200000", "1e9"])
def test_what_is_no_mass_is_refused(text: str) -> None:
    """The refusal says where, what, and the limit."""
    with pytest.raises(RecordError, match=r"line 7: .* is no mass between 0 and 100000 g"):
        grams_of(text, "line 7")


@pytest.mark.parametrize(
    "text",
    [
        "piece,grams\nwing mid L,29.8\nrib 1 + rib 2,4.1\n",
        "\ufeffPiece;note;Grams\nwing mid L;;29,8\n;;\nrib 1 + rib 2;two;4,1\n",
        "grams,piece\r\n29.8,wing mid L\r\n4.1,rib 1 + rib 2",
    ],
)
def test_a_list_of_weighed_pieces(tmp_path: Path, text: str) -> None:
    """Columns in any order, commas or semicolons, other columns and empty rows beside them."""
    path = tmp_path / "weighed.csv"
    path.write_bytes(text.encode())
    assert read_weigh_list(path) == [("wing mid L", 29.8), ("rib 1 + rib 2", 4.1)]


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "names nothing, not piece and grams"),
        (b"part,mass\nx,1\n", "names part, mass"),
        (b"piece,grams\nhull,12\nfin,heavy\n", "line 3: 'heavy' is no mass"),
        (b"piece,grams\nhull,12\n,3\n", "line 3: the row names no piece"),
        (b"piece,grams\nhull\n", "line 2: '' is no mass"),
        (b"\xff\xfe\x00bad", "no UTF-8"),
        (b"x" * 2_000_001, "larger than"),
    ],
)
def test_a_list_that_cannot_be_used(tmp_path: Path, body: bytes, words: str) -> None:
    """File and row are named."""
    path = tmp_path / "weighed.csv"
    path.write_bytes(body)
    with pytest.raises(RecordError, match=words):
        read_weigh_list(path)
    with pytest.raises(RecordError, match=r"cannot be read"):
        read_weigh_list(tmp_path / "none.csv")


def test_facts_as_csv_and_json_say_the_same() -> None:
    """Names that look like formulas stay text; data go whole."""
    at = datetime(2026, 12, 1, 12, tzinfo=UTC)
    told = [
        Fact(WEIGHED, '=HYPERLINK("x")', at, "a", "glider", data={"grams": 29.8}, seq=1),
        Fact(WEIGHED, "rib, two", at, "b", "glider", data={"grams": 4.1, "supports_on": True}, seq=2),
    ]
    rows = list(csv.DictReader(io.StringIO(facts_csv(told))))
    assert tuple(rows[0]) == COLUMNS
    assert [row["about"] for row in rows] == ['\'=HYPERLINK("x")', "rib, two"]
    objects = json.loads(facts_json(told))["facts"]
    assert [one["about"] for one in objects] == ['=HYPERLINK("x")', "rib, two"]
    assert [float(row["grams"]) for row in rows] == [one["grams"] for one in objects] == [29.8, 4.1]
    assert json.loads(rows[1]["data"]) == objects[1]["data"] == {"grams": 4.1, "supports_on": True}
