"""Facts as evidence for lessons."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from planner.ledger.evidence import runs_and_failures, timed_runs, weigh_ins_of, weighed_grams
from planner.ledger.fact import BEGAN, DONE, FAILED, LOST, WEIGHED, Fact
from planner.model.filament import Filament

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
FOAM = Filament("foam", "PLA", 1.24, 0.62, foaming=True, nozzle_c=230.0)


def piece(name: str, grams: float, **data: Any) -> dict[str, Any]:
    """What a fact keeps of a piece."""
    told = {"piece": name, "predicted_g": grams, "flying_g": grams, "filament": "foam", "recipe": "skin"}
    return {
        **told,
        "printer": "one",
        "spool": "foam 1",
        "density": 0.62,
        "nozzle_c": 230.0,
        "bed": "bed 1",
        **data,
    }


def weighed(
    grams: float, *pieces: dict[str, Any], seq: int = 1, airframe: str = "glider", **data: Any
) -> Fact:
    """Pieces on the scale."""
    told = {"grams": grams, "resolution_g": 0.1, "supports_on": False, "pieces": list(pieces), **data}
    about = " + ".join(str(one["piece"]) for one in pieces)
    return Fact(WEIGHED, about, NOON, f"{about} {seq}", airframe, data=told, seq=seq)


def over(kind: str, hours: float, bed: str = "bed 1", **data: Any) -> Fact:
    """What became of a bed that was to begin at noon and last two hours."""
    told = {
        "printer": "one", "filament": "foam", "minutes": 120.0, "start": NOON.isoformat(), "told_at": True,
        "taught_minutes": 1.0, **data,
    }  # fmt: skip
    return Fact(kind, bed, NOON + timedelta(hours=hours), f"{kind} {bed}", "glider", data=told)


def test_of_what_is_weighed_anew_the_last_counts() -> None:
    """The same piece twice is one weigh-in; of another airframe, or printed anew, another."""
    facts = [
        weighed(21.0, piece("hull", 20.0)),
        weighed(22.0, piece("hull", 20.0), seq=2),
        weighed(23.0, piece("hull", 20.0), seq=3, airframe="boat"),
        weighed(24.0, piece("hull", 20.0, bed="bed 9"), seq=4),
    ]
    assert [one.grams for one in weigh_ins_of(facts, {})] == [22.0, 23.0, 24.0]


def test_a_density_that_is_known_better_moves_the_prediction() -> None:
    """But not of a foam that is printed at another temperature now."""
    facts = [weighed(21.0, piece("hull", 20.0))]
    denser = replace(FOAM, deposited_g_per_cm3=0.682)
    assert weigh_ins_of(facts, {"foam": denser})[0].predicted_g == pytest.approx(22.0)
    assert weigh_ins_of(facts, {"foam": replace(denser, nozzle_c=250.0)})[0].predicted_g == 20.0
    assert weigh_ins_of(facts, {})[0].predicted_g == 20.0
    assert weigh_ins_of([weighed(21.0, piece("hull", 0.0))], {}) == []


def test_grams_by_piece() -> None:
    """Alone by the scale; together by their shares; with supports on by the share that flies."""
    facts = [
        weighed(21.0, piece("hull", 20.0)),
        weighed(9.0, piece("rib 1", 2.0), piece("rib 2", 6.0)),
        weighed(33.0, piece("nose", 30.0, flying_g=24.0), supports_on=True),
        weighed(99.0, piece("other", 90.0), airframe="boat"),
    ]
    found = weighed_grams(facts, "glider")
    assert {name: round(one.grams, 6) for name, one in found.items()} == {
        "hull": 21.0, "rib 1": 2.25, "rib 2": 6.75, "nose": 26.4,
    }  # fmt: skip
    assert found["hull"].spread == pytest.approx(0.1 / 12.0**0.5 / 21.0)
    assert found["rib 1"].spread > 0.01


def test_what_is_lost_or_a_slip_of_the_comma_weighs_nothing() -> None:
    """A later weighing of the reprint counts again."""
    hull, lost = weighed(21.0, piece("hull", 20.0)), Fact(LOST, "hull", NOON, "lost", "glider")
    assert weighed_grams([hull, lost], "glider") == {}
    assert (
        weighed_grams([hull, lost, weighed(22.0, piece("hull", 20.0), seq=3)], "glider")["hull"].grams == 22.0
    )
    assert weighed_grams([weighed(210.0, piece("hull", 20.0))], "glider") == {}
    assert weighed_grams([hull, weighed(2.1, piece("hull", 20.0), seq=2)], "glider") == {}


def test_what_lay_on_a_failed_bed_weighs_only_where_it_is_good() -> None:
    """Weighed before or after the failure was told; printed anew it weighs again."""
    bad, good = piece("hull", 20.0), piece("fin", 5.0)
    failed = over(FAILED, 1.0, pieces=[bad, good], good=["fin"])
    both = [weighed(21.0, bad), weighed(5.2, good)]
    for facts in ([*both, failed], [failed, *both]):
        assert {name: one.grams for name, one in weighed_grams(facts, "glider").items()} == {"fin": 5.2}
    again = weighed(20.6, piece("hull", 20.0, bed="bed 9"), seq=9)
    assert weighed_grams([*both, failed, again], "glider")["hull"].grams == 20.6
    assert len(weigh_ins_of([*both, failed, again], {})) == 3


def test_what_is_printed_anew_by_the_marks_of_a_plan_weighs_nothing_from_before() -> None:
    """Known by the bed that it lay on; from another bed it weighs again."""
    old = weighed(21.0, piece("hull", 20.0, bed="bed 2"), piece("fin", 5.0, bed="bed 2"))
    gone = {("hull", "bed 2"), ("fin", "bed 3")}
    assert list(weighed_grams([old], "glider", gone)) == ["fin"]
    anew = weighed(20.6, piece("hull", 20.0, bed="bed 9"), seq=9)
    assert weighed_grams([old, anew], "glider", gone)["hull"].grams == 20.6


def test_runs_are_timed_where_both_ends_are_told() -> None:
    """Predictions are those of the tables: what the plan had been taught is taken out of them."""
    facts = [over(BEGAN, 0.0), over(DONE, 2.5, taught_minutes=1.1)]
    (run,) = timed_runs(facts, {"one": 10.0})
    assert (run.measured, run.heat_up) == (150.0, 10.0)
    assert run.predicted == pytest.approx(10.0 + 110.0 / 1.1)
    assert timed_runs([facts[1]], {}) == []
    assert timed_runs([over(BEGAN, 0.0), over(DONE, 2.5, told_at=False)], {}) == []
    assert timed_runs([over(BEGAN, 3.0), over(DONE, 2.5)], {}) == []
    assert timed_runs([over(BEGAN, 0.0), over(FAILED, 1.0)], {}) == []


def test_runs_that_are_over_and_their_hours() -> None:
    """A failed one until it failed, where that is told, at most as long as planned."""
    facts = [
        over(DONE, 9.0),
        over(FAILED, 0.5, "bed 2"),
        over(FAILED, 9.0, "bed 3"),
        over(FAILED, 0.5, "bed 4", told_at=False),
        over(BEGAN, 0.0, "bed 5"),
    ]
    assert runs_and_failures(facts) == [
        ("one", 2.0, False), ("one", 0.5, True), ("one", 2.0, True), ("one", 2.0, True),
    ]  # fmt: skip
