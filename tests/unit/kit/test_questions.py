"""Questions of a raw kit, and what their answers make of it."""

from __future__ import annotations

from dataclasses import replace

from planner.kit.proposal import Proposal
from planner.kit.questions import Answer, Question, answered, questions_of
from planner.kit.stacks import RawKit, StackRow

HINGES = tuple(Proposal(f"hinge {n}", "filament", "TPU", "soft", 0.7) for n in range(6))
CHOICES = tuple(Proposal(f"hatch {word}", "option", ("hatch", word), "differ", 0.7) for word in ("a", "b"))
HULL = tuple(Proposal(f"hull {n}", "stack", ("hull", n), "fits", 0.6) for n in range(2))
SURE = Proposal("wing", "section", "wing", "named", 0.95)
KIT = RawKit((SURE, *HINGES, *CHOICES, *HULL), (StackRow("hull", "aft", None, "nobody knows", 0.6),))


def by(answers: dict[str, Answer]):
    def ask(question: Question) -> Answer:
        return answers.get(question.stack or question.about[0].key)

    return ask


def test_parts_that_are_asked_the_same_are_one_question_and_so_is_a_stack() -> None:
    texts = [question.text for question in questions_of(KIT)]
    assert len(texts) == 3
    assert "hinge 0, hinge 1, hinge 2, hinge 3 and 2 more" in texts[0]
    assert "hatch a, hatch b" in texts[1]
    assert "hull 0, hull 1" in texts[2]


def test_left_open_changes_nothing() -> None:
    assert answered(KIT, by({})) == KIT


def test_yes_makes_sure_no_takes_out_and_a_number_starts_a_stack() -> None:
    made = answered(KIT, by({"filament": True, "option": False, "hull": -205.0}))
    assert {(one.key, one.sure) for one in made.proposals} == {
        ("section", True),
        ("filament", True),
        ("stack", True),
    }
    assert [(row.start_mm, row.sure) for row in made.stacks] == [(-205.0, True)]
    assert questions_of(made) == ()


def test_a_refused_stack_is_gone() -> None:
    made = answered(KIT, by({"hull": False}))
    assert made.stacks == ()
    assert not any(one.key == "stack" for one in made.proposals)
    assert SURE in made.proposals


def test_a_start_of_zero_is_an_answer() -> None:
    assert answered(KIT, by({"hull": 0.0})).stacks[0].start_mm == 0.0


def test_answers_keep_what_was_not_asked_about() -> None:
    kit = replace(KIT, notes=("two airframes",))
    assert answered(kit, lambda question: None) == kit
    assert answered(kit, lambda question: True if not question.stack else 5.0).notes == ("two airframes",)
