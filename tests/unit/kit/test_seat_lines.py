"""A part has one place: its seat, or its place in a stack."""

from __future__ import annotations

from planner.io.records.draft import airframe_draft, rows_as_found
from planner.io.records.part_record import MeshHint
from planner.io.toml_file import parse_toml
from planner.kit.proposal import Proposal
from planner.kit.questions import answered, questions_of
from planner.kit.seat_lines import DATUM, SEAT, seated, seats_or_stacks
from planner.kit.stacks import RawKit, StackRow
from planner.model.recipe import Recipe

PLACE = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 5.0, 0.0, -2.5)
SURE, ASKED = (tuple(Proposal(m, SEAT, PLACE, "its root fits", c) for m in "ab") for c in (0.9, 0.6))
STACKED = tuple(Proposal(m, "stack", ("wing", n), "fits", 0.9) for n, m in enumerate("ac"))
ROW = StackRow("wing", "across", 0.0, "the datum", 0.9)
OPEN = StackRow("wing", "across", None, "nobody knows", 0.6)


def keys(found: tuple[Proposal, ...]) -> set[tuple[str, str]]:
    return {(one.mesh, one.key) for one in found}


def test_sure_seats_come_before_stacks_and_sure_stacks_before_doubtful_seats() -> None:
    found, rows = seats_or_stacks((*SURE, *STACKED), (ROW,))
    assert keys(found) == {("a", SEAT), ("b", SEAT), ("c", "stack")}
    assert rows == (ROW,)
    found, rows = seats_or_stacks((*ASKED, *STACKED), (ROW,))
    assert keys(found) == {("a", "stack"), ("c", "stack")}
    found, rows = seats_or_stacks((*ASKED, *STACKED[:1]), (OPEN,))
    assert keys(found) == {("a", SEAT), ("b", SEAT)}
    assert rows == ()


def test_a_mesh_of_which_several_are_printed_has_no_seat() -> None:
    found, _ = seats_or_stacks((*SURE, *STACKED), (ROW,), {"a"})
    assert keys(found) == {("b", SEAT), ("a", "stack"), ("c", "stack")}


def test_a_draft_says_the_seats_and_what_they_count_from() -> None:
    hints = (MeshHint("a"), MeshHint("b"))
    text = airframe_draft("kit", hints, (Recipe("plain"),), found=SURE)
    values = parse_toml(text, "airframe.toml").values
    assert values["airframe"]["datum"] == DATUM
    assert [row[SEAT] for row in values["part"]] == [list(PLACE)] * 2
    assert "# its root fits" in text
    asked = airframe_draft("kit", hints, (Recipe("plain"),), found=ASKED)
    assert f'# datum = "{DATUM}"' in asked
    assert "# seat = [1.0, 0.0" in asked
    assert "datum" not in parse_toml(asked, "airframe.toml").values["airframe"]


def test_rows_without_a_record_hold_the_seats_that_are_sure() -> None:
    values = parse_toml(rows_as_found(SURE), "airframe.toml").values
    assert values["airframe"] == {"datum": DATUM}
    assert values["part"][1] == {"mesh": "b", SEAT: list(PLACE)}
    assert rows_as_found(ASKED) == ""
    assert seated(SURE)
    assert not seated((*ASKED, *STACKED))


def test_seats_in_doubt_are_one_question_with_what_is_open() -> None:
    kit = RawKit(ASKED, notes=("put together", "not sure how it lies: nothing tells which way is up"))
    (question,) = questions_of(kit)
    assert question.text.startswith("Put a, b together as their ends and seats fit?")
    assert question.text.endswith("(nothing tells which way is up)")
    assert all(one.sure for one in answered(kit, lambda _: True).proposals)
    assert answered(kit, lambda _: False).proposals == ()
    assert "by shape alone" in questions_of(RawKit(ASKED))[0].text
