"""Copies and hands that names suggest."""

from __future__ import annotations

import pytest

from planner.io.meshes.name_habits import Suggestion, are_hands, suggest


def one(name: str) -> Suggestion:
    return suggest([name])[0]


@pytest.mark.parametrize(
    ("name", "copies"),
    [
        ("rib_x2.stl", 2), ("2x_rib.stl", 2), ("rib (x4).stl", 4), ("rib (2x).STL", 2), ("Rib X3.stl", 3),
        ("rib_3_x2.stl", 2), ("clip_4pcs.stl", 4), ("qty 4 clip.stl", 4), ("clip qty2.stl", 2),
        ("hinge.x6.stl", 6), ("rib ×2.stl", 2), ("kit.3mf#clip x4", 4), ("box x2 M3.stl", 2),
        ("aileron_left_x2_v3.2.stl", 2),
        # sizes, threads, versions and words are no copies
        ("tube 8x6.stl", 1), ("8x6 tube.stl", 1), ("8 x 6 tube.stl", 1), ("bolt M3x8.stl", 1),
        ("plate 220x220.stl", 1), ("plate_220x220x5.stl", 1), ("tube 8 x6.stl", 1), ("servo 2x 4mm.stl", 1),
        ("x.stl", 1), ("x1.stl", 1), ("x200.stl", 1), ("fox2.stl", 1), ("v2.stl", 1), ("max2.stl", 1),
        ("rib_2.stl", 1), ("M3 x8.stl", 1), ("8×6 tube.stl", 1), ("part 3.2x.stl", 1),
    ],
)  # fmt: skip
def test_copies_are_told_from_sizes(name: str, copies: int) -> None:
    """Common habits count; sizes, threads and versions do not."""
    assert one(name).copies == copies


@pytest.mark.parametrize(
    ("name", "hand"),
    [
        ("wing_L.stl", "left"), ("wing-r.stl", "right"), ("wing tip left.stl", "left"),
        ("LH rib.stl", "left"),
        ("WingRight.stl", "right"), ("aileron_left_x2_v3.2.stl", "left"), ("kit.3mf#aileron R", "right"),
        ("upright.stl", "none"), ("leftover.stl", "none"), ("bright.stl", "none"), ("R2.stl", "none"),
        ("left_right_joiner.stl", "none"), ("rail.stl", "none"), ("L-bracket left.stl", "left"),
    ],
)  # fmt: skip
def test_hands_are_whole_words(name: str, hand: str) -> None:
    """Left and right within another word are none; a part that joins both has none."""
    assert one(name).hand == hand


def test_a_hand_alone_is_mirrored_and_a_pair_is_not() -> None:
    """Both hands there as files: nothing is made twice."""
    assert one("wing_L.stl").mirror
    both = suggest(["wing_L.stl", "wing_R.stl", "Fin left.stl", "fin RIGHT.stl"])
    assert [entry.mirror for entry in both] == [False] * 4
    assert [entry.hand for entry in both] == ["left", "right", "left", "right"]


def test_a_pair_lies_in_one_folder() -> None:
    """A right wing in another folder belongs to another set."""
    assert suggest(["a/wing_L.stl", "b/wing_R.stl"])[0].mirror


def test_a_row_of_letters_is_no_pair_of_hands() -> None:
    """Rib l between rib k and rib m is the twelfth rib."""
    row = suggest(["rib_k.stl", "rib_l.stl", "rib_m.stl"])
    assert {entry.hand for entry in row} == {"none"}
    assert not any(entry.mirror for entry in row)


def test_the_word_mirror_asks_for_a_mirror_image() -> None:
    """With a reason that names the word."""
    found = one("fin mirror x2.stl")
    assert (found.mirror, found.copies, found.reason) == (True, 2, '"x2", "mirror"')
    assert one("fin.stl").reason == ""


def test_names_that_differ_in_the_hand_only_are_hands() -> None:
    """Used to let mirrored pairs pass as no duplicates."""
    assert are_hands("wing_L.stl", "wing_R.stl")
    assert not are_hands("wing_L.stl", "wing_L (2).stl")
    assert not are_hands("rib 1.stl", "rib 2.stl")


@pytest.mark.parametrize("name", ["", ".stl", "#", "___", "é.stl", "a" * 300, "..", "x" * 99 + "2.stl"])
def test_odd_names_suggest_nothing(name: str) -> None:
    """And break nothing."""
    assert one(name) == Suggestion()


def test_objects_of_a_file_of_one_hand_have_that_hand() -> None:
    """A file of the left wing's parts: mirrored, unless the file of the right wing is there, too."""
    alone = suggest(["wing_left.3mf#object 1", "wing_left.3mf#rib x2", "tail.3mf#plate"])
    assert [(entry.hand, entry.mirror) for entry in alone] == [
        ("left", True),
        ("left", True),
        ("none", False),
    ]
    assert (alone[1].copies, alone[1].reason) == (2, '"x2", "left"')
    both = suggest(["wing_left.3mf#object 1", "wing_right.3mf#object 1"])
    assert [(entry.hand, entry.mirror) for entry in both] == [("left", False), ("right", False)]


def test_the_hand_of_an_object_counts_before_that_of_its_file() -> None:
    """A right clip in the file of the left wing is a right clip."""
    assert one("wing_left.3mf#clip right").hand == "right"


def test_one_letter_of_a_file_says_nothing_of_its_objects() -> None:
    """``kit_l.3mf`` may be the large kit."""
    assert one("kit_l.3mf#object 1").hand == "none"


def test_objects_of_two_files_are_hands() -> None:
    """As single files would be; another object is none."""
    assert are_hands("wing_left.3mf#rib", "wing_right.3mf#rib")
    assert not are_hands("wing_left.3mf#rib", "wing_right.3mf#spar")


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ("Flügel links.stl", "Flügel rechts.stl"), ("aileron gauche.stl", "aileron droit.stl"),
        ("aile gauche.stl", "aile droite.stl"), ("ala_izquierda.stl", "ala_derecha.stl"),
        ("ala sx.stl", "ala dx.stl"), ("skrzydlo_lewe.stl", "skrzydlo_prawe.stl"),
        ("asa esquerda.stl", "asa direita.stl"), ("Querruder_linker.stl", "Querruder_rechter.stl"),
    ],
)  # fmt: skip
def test_hands_in_other_languages_are_pairs(left: str, right: str) -> None:
    """Both are there, so that neither is made a second time by its mirror image; alone it is."""
    both = suggest([left, right])
    assert [entry.hand for entry in both] == ["left", "right"]
    assert [entry.mirror for entry in both] == [False, False]
    assert are_hands(left, right)
    assert are_hands(right, left)
    assert one(left).mirror
    assert one(right).mirror
