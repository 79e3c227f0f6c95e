"""Tables of facts by themselves, without a ledger on disk: columns, types, moments, what pieces share."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pandas as pd
import pytest

from planner.ledger.fact import SPOOL_ADDED, SPOOL_WEIGHED, WEIGHED, Fact
from planner.ledger.frames import frames_of

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
EAST = timezone(timedelta(hours=5, minutes=30))


def piece(name: str, **own: Any) -> dict[str, Any]:
    return {
        "piece": name, "predicted_g": 20.0, "flying_g": 20.0, "filament": "PLA", "recipe": "skin",
        "printer": "one", "spool": "grey 1", "bed": "bed 1", **own,
    }  # fmt: skip


def weighed(grams: float, *pieces: dict[str, Any], uid: str = "w", at: datetime = NOON) -> Fact:
    data = {"grams": grams, "resolution_g": 0.1, "pieces": list(pieces)}
    return Fact(WEIGHED, " + ".join(one["piece"] for one in pieces), at, uid, "glider", data=data)


def test_columns_stand_in_their_order_with_their_types_also_without_rows() -> None:
    """What is made of the tables holds from the first day on."""
    none = frames_of([], NOON)
    some = frames_of([weighed(22.0, piece("hull"))], NOON)
    for name in ("facts", "weigh_ins", "spools"):
        assert getattr(none, name).dtypes.to_dict() == getattr(some, name).dtypes.to_dict()
        assert len(getattr(none, name)) == 0
    assert list(none.facts.columns) == ["seq", "at", "airframe", "kind", "about", "grams", "who"]
    assert list(none.weigh_ins.columns)[-3:] == ["grams", "predicted_g", "off_percent"]
    assert list(none.spools.columns) == ["spool", "filament", "at", "what", "grams", "after_g"]


def test_moments_of_any_zone_are_told_in_utc() -> None:
    """Half past five in the evening in the east is noon."""
    found = frames_of(iter([weighed(22.0, piece("hull"), at=NOON.astimezone(EAST))]), NOON)
    assert found.facts["at"].tolist() == [pd.Timestamp("2026-12-01 12:00", tz="UTC")]
    assert found.weigh_ins["at"].tolist() == found.facts["at"].tolist()


@pytest.mark.parametrize(("grams", "off"), [(22.0, 10.0), (20.0, 0.0), (15.0, -25.0)])
def test_how_far_a_piece_lies_off_the_tables(grams: float, off: float) -> None:
    """In per cent of what the tables say; lighter is negative."""
    (row,) = frames_of([weighed(grams, piece("hull"))], NOON).weigh_ins.to_dict("records")
    assert (row["grams"], row["predicted_g"]) == (grams, 20.0)
    assert row["off_percent"] == pytest.approx(off)


@pytest.mark.parametrize("key", ["filament", "recipe", "printer", "spool"])
def test_what_all_pieces_on_the_scale_share_is_told(key: str) -> None:
    """And what they do not share is left empty, as is what nobody knows."""
    alike, other = (piece("hull"), piece("fin")), (piece("hull"), piece("fin", **{key: "another"}))
    unknown = (piece("hull", **{key: ""}), piece("fin", **{key: ""}))
    told = []
    for pair in (alike, other, unknown):  # each by itself: the last weigh-in of a piece replaces those before
        (row,) = frames_of([weighed(44.0, *pair)], NOON).weigh_ins.to_dict("records")
        assert row["pieces"] == "hull + fin"
        told.append(None if pd.isna(row[key]) else row[key])
    assert told == [piece("hull")[key], None, None]


def test_accounts_of_spools_line_by_line() -> None:
    """What a spool holds after each line; a weigh-in in between sets it right."""
    facts = [
        Fact(SPOOL_ADDED, "grey 1", NOON, "a", data={"filament": "PLA", "grams": 500.0}),
        Fact(SPOOL_WEIGHED, "grey 1", NOON + timedelta(hours=1), "b", data={"grams": 480.0}),
    ]
    table = frames_of(facts, NOON + timedelta(days=1)).spools
    assert table.spool.tolist() == ["grey 1", "grey 1"]
    assert set(table.filament) == {"PLA"}
    assert table.after_g.tolist() == [500.0, 480.0]
    assert table.grams.cumsum().tolist() == table.after_g.tolist()
