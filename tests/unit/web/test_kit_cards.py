"""Cards of the sheet Kit: what is asked, in which words, and when nothing is asked any more."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.model.part import Stack
from planner.web.state import State, read_state
from planner.web.views.kit_cards import Card, cards_of, everything
from planner.web.views.kit_found import KIT, kit_kept
from planner.web.workspace import read_record
from tests.kits import shapes
from tests.unit.web.kit_desk import asked, change, copied, kit_on, looked, ring, small_kit, text_of, write_kit
from tests.unit.web.page_desk import desk_at

PLACED = {"why": "7 of 7 meshes tile one space", "axes": {"aft": "y", "up": "z"}, "sure": False, "lies": "no"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small kit as it was drafted; only read."""
    return kit_on(desk_at(tmp_path_factory.mktemp("made")))


@pytest.fixture
def kit(tmp_path: Path, made: Path) -> Path:
    """A raw kit, looked at."""
    return copied(desk_at(tmp_path), made)


@pytest.fixture(scope="module")
def state(made: Path) -> State:
    """The folder as it stands."""
    return read_state(made)


def found(*proposals: list[Any], **more: Any) -> dict[str, Any]:
    """What a look could have found."""
    return {"proposals": list(proposals), "stacks": [], "placed": None, "ends": {}, **more}


def one(state: State, *proposals: list[Any], **more: Any) -> Card:
    """The only card that these make."""
    (card,) = cards_of(state, found(*proposals, **more))
    return card


def test_parts_that_were_put_together_are_one_card(state: State) -> None:
    """Each has a seat of its own, and one yes gives it to all of them; who has a place is not asked."""
    seats = [[1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, x, 0.0, 0.0] for x in (5.0, 95.0)]
    meshes = ("fuselage_1.stl", "fuselage_2.stl")
    asks = [[mesh, "seat", seat, "its end fits", 0.6] for mesh, seat in zip(meshes, seats, strict=True)]
    card = one(state, *asks)
    assert card.title == "Do these 2 parts fit together like this?"
    assert (card.meshes, card.confidence) == (meshes, 0.6)
    assert card.taken == {"take": [[*ask[:4]] for ask in asks]}
    assert "leave" in card.buttons[1].given


def test_parts_of_which_the_same_is_asked_share_a_card(state: State) -> None:
    """Each with its reason; the least sure one counts; yes takes all, no refuses all."""
    card = one(
        state,
        ["drilling jig.stl", "recipe", "skin", "walls of 0.6 mm", 0.7],
        ["rib_1_v2.stl", "recipe", "skin", "walls of 0.5 mm", 0.6],
    )
    assert card.title == "Is this right: recipe skin?"
    assert (card.reasons, card.confidence) == (("walls of 0.6 mm", "walls of 0.5 mm"), 0.6)
    assert card.meshes == ("drilling jig.stl", "rib_1_v2.stl")
    assert card.buttons[0].given == card.taken
    assert card.buttons[1].given == {
        "leave": [["drilling jig.stl", "recipe", "skin"], ["rib_1_v2.stl", "recipe", "skin"]]
    }


def test_each_whole_is_asked_by_itself(state: State) -> None:
    """Two files that are left out for reasons of their own are two questions."""
    cards = cards_of(
        state,
        found(
            ["drilling jig.stl", "copies", 0, "the whole of a, b", 0.7],
            ["nose_plain.stl", "copies", 0, "the whole of c, d", 0.7],
        ),
    )
    assert [(card.title, card.reasons) for card in cards] == [
        ("Leave it out?", ("the whole of a, b",)),
        ("Leave it out?", ("the whole of c, d",)),
    ]


@pytest.mark.parametrize(
    "proposal",
    [
        ["fuselage_1.stl", "section", "tail", "its key is written", 0.6],
        ["rib_1.stl", "copies", 0, "it is left out already", 0.6],
        ["rib_1_v2.stl", "recipe", "skin", "sure, and taken out by hand since", 0.9],
        ["gone.stl", "section", "tail", "its file is not there any more", 0.6],
    ],
)
def test_what_is_settled_is_not_asked(state: State, proposal: list[Any]) -> None:
    """Written, done, taken out by hand, or gone."""
    assert cards_of(state, found(proposal)) == ()


def test_many_reasons_are_cut(state: State) -> None:
    """Three, and how many more."""
    meshes = [row["name"] for row in (state.look or {})["meshes"]]
    card = one(state, *([mesh, "hand", "left", f"reason {mesh}", 0.5] for mesh in meshes[:5]))
    assert len(card.reasons) == 4
    assert card.reasons[-1] == "and 2 more"


def test_the_cards_name_the_key_in_the_words_of_the_page(state: State) -> None:
    """Yes and no, numbers, words."""
    titles = {
        one(state, ["rib_1_v2.stl", key, value, "why", 0.6]).title
        for key, value in (("near_motor", True), ("other_section", "right wing"), ("hinge", False))
    }
    assert titles == {
        "Is this right: near the motor?",
        "Is this right: section of the mirror image right wing?",
        "Is this right: hinge: no?",
    }


def test_which_way_an_airframe_lies_is_one_question_with_three_answers(state: State) -> None:
    """The nose to the left as drawn, to the right, or not drawn in place at all."""
    card = one(state, placed=PLACED)
    assert card.title == "Does the nose lie to the left, and is up up?"
    assert [button.given["head"] for button in card.buttons] == [
        {"in_assembly_position": True, "axes": {"aft": "y", "up": "z"}},
        {"in_assembly_position": True, "axes": {"aft": "-y", "up": "z"}},
        {"in_assembly_position": False},
    ]
    plain = one(state, placed={**PLACED, "axes": None, "sure": True})
    assert plain.title == "Are the parts drawn where they sit?"
    assert plain.confidence == 0.9


def test_the_answer_is_written_into_the_head_and_ends_the_question(kit: Path) -> None:
    """As keys of [airframe], beside its comments."""
    (kit / ".page" / KIT).write_text("{}", encoding="utf-8")
    card = one(read_state(kit), placed=PLACED)
    change(kit, "answer", **card.buttons[1].given)
    text = text_of(kit)
    assert 'axes = {aft = "-y", up = "z"}' in text
    assert "in_assembly_position = true" in text
    assert "# target_mass_g = 1450          # flying mass" in text
    assert cards_of(read_state(kit), found(placed=PLACED)) == ()


def test_a_stack_whose_start_is_known_can_be_accepted_at_once(state: State) -> None:
    """With its row; one that is written already is not written again."""
    places = [[f"fuselage_{n}.stl", "stack", ["boom", n], "fits", 0.6] for n in (2, 1)]
    row = {"name": "boom", "direction": "aft", "start_mm": 0.0, "reason": "the datum", "confidence": 0.6}
    card = one(state, *places, stacks=[row])
    assert card.meshes == ("fuselage_1.stl", "fuselage_2.stl")
    assert card.taken == card.buttons[0].given
    assert card.buttons[0].given["stacks"] == [
        {"name": "boom", "direction": "aft", "start_mm": 0.0, "reason": "the datum"}
    ]
    assert "stacks" not in one(state, *places).buttons[0].given  # of parts alone, where no row is known


def test_accept_all_gathers_lists_and_choices() -> None:
    """Cards without an answer of their own give nothing."""
    cards = (
        Card("a", (), 0.6, (), (), {"take": [[1]], "options": {"nose": "plain"}}),
        Card("b", (), 0.6, (), (), {"take": [[2]], "options": {"tail": "long"}, "stacks": [{"name": "s"}]}),
        Card("c", (), None, (), ()),
    )
    assert everything(cards) == {
        "take": [[1], [2]],
        "options": {"nose": "plain", "tail": "long"},
        "stacks": [{"name": "s"}],
    }


def test_a_file_that_comes_later_is_one_card_with_all_that_is_sure(kit: Path) -> None:
    """No row names it: section and what else is sure at once, written into a row of its own."""
    change(kit, "answer", **everything(asked(kit)))
    write_kit(kit, {"tail skid.stl": shapes.block(30.0, 12.0, 4.0)})
    looked(kit)
    card = asked(kit)[0]
    assert (card.title, card.meshes) == ("New in the folder: section tail?", ("tail skid.stl",))
    change(kit, "answer", **card.buttons[0].given)
    assert 'mesh = "tail skid.stl"' in text_of(kit)
    assert not [one for one in asked(kit) if "New in" in one.title]


def stacked(folder: Path) -> None:
    """The fuselage put together, everything else accepted."""
    change(folder, "answer", **everything(asked(folder)))
    (card,) = asked(folder)
    given = card.buttons[0].given
    change(folder, "answer", **{**given, "stacks": [{**given["stacks"][0], "start_mm": 0}]})
    assert asked(folder) == ()


def test_a_replaced_part_whose_ends_fit_keeps_its_place(kit: Path) -> None:
    """Another length, another wall, the same joint: nothing is asked."""
    stacked(kit)
    write_kit(kit, {"fuselage_1.stl": ring(60.0, 130.0, 0.9)})
    looked(kit)
    assert asked(kit) == ()
    assert "was" not in (read_record(kit, KIT) or {})["ends"]["fuselage_1.stl"]


def test_a_replaced_part_whose_end_fits_no_more_is_asked_again(kit: Path) -> None:
    """With its neighbour's name; a yes lasts until the next file, a no takes the place away."""
    stacked(kit)
    write_kit(kit, {"fuselage_1.stl": ring(60.0, 100.0, 0.7)})
    looked(kit)
    (card,) = asked(kit)
    assert card.title == "fuselage 1 was replaced: does it keep its place?"
    assert card.reasons == ("its end no longer fits that of fuselage 2",)
    change(kit, "answer", **card.buttons[0].given)
    assert asked(kit) == ()
    assert "# keeps its place as file " in text_of(kit)
    write_kit(kit, {"fuselage_1.stl": ring(60.0, 100.0, 0.6)})
    looked(kit)
    (card,) = asked(kit)
    change(kit, "answer", **card.buttons[1].given)
    records = read_state(kit).records
    assert records is not None
    places = {part.name: part.stack for part in records.airframe.parts}
    assert (places["fuselage 1"], places["fuselage 2"]) == (None, Stack("fuselage", 1))
    assert [card.title for card in asked(kit) if "replaced" in card.title] == []


def test_both_neighbours_replaced_alike_keep_their_places(kit: Path) -> None:
    """A new joint that fits on both sides is a joint."""
    stacked(kit)
    write_kit(kit, {"fuselage_1.stl": ring(60.0, 100.0, 0.7), "fuselage_2.stl": ring(42.0, 90.0, 0.8)})
    looked(kit)
    assert {"was"} <= set((read_record(kit, KIT) or {})["ends"]["fuselage_2.stl"])
    assert asked(kit) == ()


def test_a_part_that_never_fitted_is_not_asked_about() -> None:
    """What is kept of the ends: the old ones until new ones are like them."""
    square, other = [10.0, 40.0, 10.0, 10.0], [20.0, 80.0, 20.0, 20.0]
    first = kit_kept({}, {"a": (square, None)}, {"a": "1"}, None)
    assert first == {"ends": {"a": {"file": "1", "low": square, "high": None}}}
    same = kit_kept({}, {"a": (other, None)}, {"a": "1"}, first)  # the same file, read anew
    assert "was" not in same["ends"]["a"]
    second = kit_kept({}, {"a": (other, None)}, {"a": "2"}, first)
    assert second["ends"]["a"]["was"] == {"low": square, "high": None}
    third = kit_kept({}, {"a": (None, square)}, {"a": "3"}, second)
    assert third["ends"]["a"]["was"] == {"low": square, "high": None}  # the ends it was placed with
    back = kit_kept({}, {"a": (square, other)}, {"a": "4"}, third)
    assert "was" not in back["ends"]["a"]


def test_nothing_is_asked_where_nobody_has_looked_or_a_record_is_wrong(kit: Path) -> None:
    """No look, nothing found, a file that cannot be read."""
    state = read_state(kit)
    assert cards_of(state, None) == ()
    assert cards_of(replace(state, look=None), found()) == ()
    (kit / "airframe.toml").write_text("[airframe\n", encoding="utf-8")
    assert asked(kit) == ()


def test_a_record_of_its_own_is_asked_nothing_that_it_says(tmp_path: Path) -> None:
    """Patterns speak for their meshes, and a sure proposal is no question where a row stands."""
    desk = desk_at(tmp_path)
    folder = write_kit(desk.workspace.root / "own", small_kit())
    (folder / "airframe.toml").write_text(
        '[[part]]\nmesh = "*.stl"\nsection = "hull"\n[[part]]\nmesh = "drilling jig.stl"\ncopies = 0\n',
        encoding="utf-8",
    )
    looked(folder)
    assert [card.title for card in asked(folder)] == ["Do these follow one another: fuselage?"]
