"""The sections of ``plan.json`` one by one: what an old file must hold, and what each value may be."""

from __future__ import annotations

from typing import Any, get_args

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.joint_search.objective import _NAME
from planner.model.finding import Weight
from planner.model.replan import OUTCOMES, ChangeKind, Outcome
from planner.plan_record import balance, beds, build, head, runs, series, sums
from planner.plan_record.faults import first_fault
from planner.plan_record.reading import as_read
from planner.plan_record.values import Moment, Record, fields_of, read_custom, told_only

AT = "2026-12-01T18:00:00+00:00"
PLACED = {"piece": "fin", "x_mm": -1.5, "y_mm": 0, "turn_deg": 90.0, "height_mm": 0.0,
          "outline_mm": [[0, 0], [1, 0], [0, 1.5]]}  # fmt: skip
BATCH = {"batch": "bed 1", "printer_kind": "k", "filament": "PLA", "layer_height_mm": 0.2, "minutes": 0,
         "mass_g": 1.0, "height_mm": 1.0, "placed": [PLACED], "fill": 0.5}  # fmt: skip
RUN = {"run": "run 1", "batch": "bed 1", "printer": "p", "start": AT, "end": AT, "attended_start": True,
       "spools": [{"spool": "s", "grams": 1}], "purge_g": 0}  # fmt: skip

# What a file must hold so that a plan can go on from it: nothing may be added, for files of old lack it.
NEEDED: dict[type[Record], list[str]] = {
    beds.PlacedRecord: ["piece", "x_mm", "y_mm", "turn_deg", "height_mm", "outline_mm"],
    beds.BatchRecord: [
        "batch", "printer_kind", "filament", "layer_height_mm", "minutes", "mass_g", "height_mm", "placed",
        "fill",
    ],
    runs.DrawRecord: ["spool", "grams"],
    runs.RunRecord: ["run", "batch", "printer", "start", "end", "attended_start", "spools", "purge_g"],
    runs.SpoolRecord: [
        "spool", "filament", "bought", "grams_before", "grams_used", "grams_purged", "grams_left"
    ],
    runs.VisitRecord: ["at", "minutes", "tasks"],
    runs.ScheduleRecord: ["finish", "visits"],
    sums.MassItemRecord: ["what", "kind", "mass_g"],
    sums.MassRecord: ["items"],
    head.AirframeRecord: ["name"],
    head.ChoicesRecord: ["options", "printers", "prefer", "section_dates"],
    series.PastRecord: ["outcome", "good", "on_bed", "run", "batch"],
    series.PrintedRecord: ["piece", "bed", "filament", "recipe", "mass_g", "flying_g"],
    series.FilamentRecord: ["filament", "deposited_g_per_cm3", "nozzle_c"],
    series.ReplanRecord: ["series", "generation", "visits_gone", "told"],
}  # fmt: skip


@pytest.mark.parametrize("kind", NEEDED, ids=lambda kind: kind.__name__)
def test_what_an_old_file_must_hold_stays_what_it_was(kind: type[Record]) -> None:
    """A field that is asked for anew would refuse every file of before."""
    assert [one.name for one in fields_of(kind) if one.required] == NEEDED[kind]
    assert [one.name for one in fields_of(as_read(kind)) if one.required] == NEEDED[kind]


@pytest.mark.parametrize(
    ("kind", "seldom"),
    [
        (beds.BedRecord, ["outline_mm"]),
        (balance.MoveRecord, ["room_mm", "balance_mm"]),
        (runs.ScheduleRecord, ["buying", "away", "drying", "lots"]),
        (head.MisfitRecord, ["reason"]),
        (balance.BalanceRecord, []),
        (build.BuildRecord, []),
        (sums.CostRecord, ["series"]),
    ],
)
def test_what_is_not_even_told_every_time(kind: type[Record], seldom: list[str]) -> None:
    """All else is in every file that is written."""
    assert [one.name for one in fields_of(kind) if told_only(one.type, "seldom")] == seldom


def test_records_are_written_in_the_order_in_which_they_stand() -> None:
    """So that the same plan gives the same bytes."""
    made = msgspec.convert(BATCH, beds.BatchRecord, dec_hook=read_custom)
    told = list(msgspec.to_builtins(made))
    assert told == [one.name for one in fields_of(beds.BatchRecord) if one.name in told]
    assert told[0] == "batch"
    with pytest.raises(AttributeError):
        made.fill = 1.0  # type: ignore[misc]


def told(kind: Any, value: object) -> tuple[str, str] | None:
    """Place and words of the first fault."""
    fault = first_fault(value, kind)
    return None if fault is None else (fault.place, fault.wanted)


AMOUNT, COUNT = "a number that is not below zero", "a whole number that is not below zero"
VISIT = {"at": AT, "minutes": 5, "tasks": []}
ITEM = {"what": "a", "kind": "b", "mass_g": 1}
ASKED = {"options": {}, "printers": [], "prefer": [], "section_dates": {}}
KNOWN = {"filament": "a", "deposited_g_per_cm3": 1, "nozzle_c": 0}
READY = {"printer": "a", "filament": "b", "spool": "c", "purged_g": 0}
OVER = {"outcome": "done", "good": [], "on_bed": False, "run": RUN, "batch": BATCH}
SINCE = {"series": "s", "generation": 1, "visits_gone": [], "told": []}
CASES: list[tuple[Any, dict[str, Any], str, object, str | None]] = [
    (beds.BatchRecord, BATCH, "layer_height_mm", 1e-9, None),
    (beds.BatchRecord, BATCH, "layer_height_mm", 0, "a number above zero"),
    (beds.BatchRecord, BATCH, "fill", -1e-9, AMOUNT),
    (beds.BatchRecord, BATCH, "placed", [], "a list with a piece in it"),
    (beds.BatchRecord, BATCH, "model_sha256", None, None),
    (beds.BatchRecord, BATCH, "model_sha256", "AB" * 32, "null or a SHA-256 of 64 hex digits"),
    (beds.BatchRecord, BATCH, "batch", "", "a text"),
    (beds.PlacedRecord, PLACED, "outline_mm", [[0, 0], [1, 1]], "a list of [x, y] points"),
    (beds.PlacedRecord, PLACED, "outline_mm", [[0, 0], [1, 1], [1]], "a list of [x, y] points"),
    (beds.PlacedRecord, PLACED, "height_mm", -0.1, AMOUNT),
    (beds.PlacedRecord, PLACED, "x_mm", None, "a number"),
    (runs.RunRecord, RUN, "start", "2026-12-01T18:00:00", "a date and time with offset"),
    (runs.RunRecord, RUN, "mark", "", None),
    (runs.RunRecord, RUN, "mark", "running", None),
    (runs.RunRecord, RUN, "mark", "gone", "one of: done, failed, running"),
    (runs.RunRecord, RUN, "attended_start", 1, "true or false"),
    (runs.RunRecord, RUN, "purge_g", -1, AMOUNT),
    (runs.RunRecord, RUN, "dry_at", None, None),
    (runs.RunRecord, RUN, "changed_from", "x" * 1000, None),
    (runs.RunRecord, RUN, "changed_from", "x" * 1001, "null or a text"),
    (runs.VisitRecord, VISIT, "minutes", 1_000_000, None),
    (runs.VisitRecord, VISIT, "minutes", 1_000_001, COUNT),
    (runs.VisitRecord, VISIT, "minutes", 1.5, COUNT),
    (runs.VisitRecord, VISIT, "tasks", [1], "a list of texts"),
    (sums.MassItemRecord, ITEM, "station_mm", -1e6, None),
    (sums.MassItemRecord, ITEM, "mass_g", -1.0, AMOUNT),
    (sums.MassItemRecord, ITEM, "station_mm", float("nan"), "null or a number"),
    (head.ChoicesRecord, ASKED, "filament", 5, "null or a text"),
    (head.FindingRecord, {"about": "a", "text": "b", "weight": "note"}, "weight", "bad", None),
    (series.FilamentRecord, KNOWN, "deposited_g_per_cm3", 0, "a number above zero"),
    (series.ChangedRecord, READY, "purged_g", -1, AMOUNT),
    (series.PastRecord, OVER, "good", "x", "a list of texts"),
    (series.PastRecord, OVER, "outcome", "running", "one of: done, failed"),
    (series.ReplanRecord, SINCE, "generation", 0, "a whole number above zero"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "whole", "key", "value", "wanted"), CASES)
def test_a_value_at_its_limit_and_beyond(
    kind: Any, whole: dict[str, Any], key: str, value: object, wanted: str | None
) -> None:
    """The whole is sound; with one value changed it is sound still, or that value is named."""
    assert told(kind, whole) is None
    found = told(kind, {**whole, key: value})
    if kind is head.FindingRecord:
        assert found == ("weight", f"one of: {', '.join(get_args(Weight))}")
    elif wanted is None:
        assert found is None
    else:
        assert found is not None
        assert found[0].startswith(key)
        assert found[1] == wanted


def test_a_fault_deep_inside_is_named_by_its_place() -> None:
    """Of a run that is over: the second draw of its spools."""
    run = {**RUN, "spools": [{"spool": "s", "grams": 1}, {"spool": "s", "grams": -1}]}
    past = {"outcome": "failed", "good": [], "on_bed": True, "run": run, "batch": BATCH}
    assert told(series.PastRecord, past) == ("run.spools[1].grams", AMOUNT)
    bed = {**BATCH, "placed": [PLACED, {**PLACED, "piece": ""}]}
    assert told(series.PastRecord, {**past, "run": RUN, "batch": bed}) == ("batch.placed[1].piece", "a text")
    del bed["fill"]
    assert told(beds.BatchRecord, {**bed, "placed": [PLACED]}) == ("fill", "given")


def test_words_of_the_record_are_those_of_the_model() -> None:
    """Marks, outcomes and kinds of change: a new one comes with its place in the file."""
    assert set(get_args(runs.Written)) == {*OUTCOMES, ""}
    for kind, key, words in (
        (series.PastRecord, "outcome", get_args(Outcome)),
        (series.ChangeRecord, "what", get_args(ChangeKind)),
        (head.FindingRecord, "weight", get_args(Weight)),
    ):
        field = next(one for one in fields_of(kind) if one.name == key)
        assert get_args(field.type) == words


@pytest.mark.parametrize(
    ("name", "sound"),
    [("finish", True), ("my-goal-2", True), ("a", True), ("a" * 20, True), ("a" * 21, False), ("", False),
     ("2nd", False), ("Finish", False), ("two words", False), ("-a", False)],
)  # fmt: skip
def test_names_of_goals(name: str, sound: bool) -> None:
    """As a package may name one, and no other way."""
    goal = {"goal": name, "value": 0, "unit": "", "told": "x"}
    try:
        msgspec.convert(goal, head.GoalRecord)
        taken = True
    except msgspec.ValidationError:
        taken = False
    assert taken is sound
    assert bool(_NAME.fullmatch(name)) is sound


@settings(max_examples=40, deadline=None)
@given(
    numbers=st.tuples(*[st.floats(-1e6, 1e6)] * 3),
    grams=st.floats(0.0, 1e6),
    pose=st.none() | st.lists(st.floats(-1, 1), min_size=9, max_size=9),
)
def test_a_printed_piece_comes_back_to_the_last_digit(
    numbers: tuple[float, float, float], grams: float, pose: list[float] | None
) -> None:
    """Written and read by two ways of the library."""
    made = series.PrintedRecord(
        piece="fin", bed="bed 1", filament="PLA", recipe="skin", mass_g=grams, flying_g=grams,
        mesh_sha256="ab" * 32, recipe_sha256=None, rotation=pose, station_mm=numbers[0],
        across_mm=numbers[1], up_mm=numbers[2],
    )  # fmt: skip
    again = msgspec.json.decode(msgspec.json.encode(made), type=as_read(series.PrintedRecord))
    assert msgspec.to_builtins(again) == msgspec.to_builtins(made)


def test_moments_of_a_step_and_of_a_change_are_texts_with_their_offset() -> None:
    """Two in one place tell the same; a kit that waits has none."""
    at = "2026-07-01T18:00:00+01:00"
    step = {"at": at, "runs": [], "pieces": [], "joints": [["a", "b"]], "fastened": [], "sections": []}
    kit = {"section": "", "pieces": [], "fittings": [], "joints": [], "ready": None, "missing": ["x"]}
    made = msgspec.convert({"steps": [step], "kits": [kit]}, build.BuildRecord, dec_hook=read_custom)
    assert str(made.steps[0].at) == at
    assert made.kits[0].ready is None
    assert isinstance(made.steps[0].at, Moment)
    assert told(build.BuildRecord, {"steps": [step], "kits": [{**kit, "ready": "soon"}]}) == (
        "kits[0].ready", "null or a date and time with offset"
    )  # fmt: skip
    slot = {"printer": "a", "start": AT, "end": "2026-12-01"}
    assert told(series.SlotRecord, slot) == ("end", "a date and time with offset")


def test_money_is_a_decimal_text_and_no_number() -> None:
    """A number has lost its last digit before it is read."""
    line = {"what": "a", "quantity": 1, "unit": "g", "unit_price": "0.10", "amount": None, "kind": "k",
            "source": "s", "in_total": True}  # fmt: skip
    assert told(sums.CostLineRecord, line) is None
    for wrong in (0.1, "0,10", "1e2", ".5", "EUR 1", "--1"):
        assert told(sums.CostLineRecord, {**line, "unit_price": wrong}) == ("unit_price", "null or an amount")
    assert told(sums.CostLineRecord, {**line, "amount": "-5.00"}) is None


def test_pairs_are_two_numbers() -> None:
    move = {"what": "a", "mass_g": 1.0, "station_mm": 2.0, "by_mm": 3.0}
    assert told(balance.MoveRecord, move) is None
    assert told(balance.MoveRecord, {**move, "room_mm": [1, 2], "balance_mm": None}) is None
    for wrong in ([1], [1, 2, 3]):
        fault = told(balance.MoveRecord, {**move, "room_mm": wrong})
        assert fault is not None
        assert fault[0] == "room_mm"


def test_one_of_several_is_told_with_its_dates() -> None:
    """A date is a day, the moment has an offset; a priority counts from one."""
    from planner.plan_record.schema import plan_schema
    from planner.plan_record.several import OneOfSeveralRecord

    told = plan_schema()["$defs"]["oneofseveral"]
    assert set(told["required"]) == set(OneOfSeveralRecord.__struct_fields__)
    assert told["properties"]["priority"]["minimum"] == 1
    assert "airframes" not in plan_schema()["required"]
