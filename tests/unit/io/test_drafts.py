"""Drafts of the records, and the examples that stand in them as comments."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

import pytest

from planner.io.records.airframe_record import read_airframe
from planner.io.records.builtin import builtin_filaments, builtin_printers, builtin_recipes
from planner.io.records.draft import airframe_draft, workshop_draft
from planner.io.records.draft_lines import ASKED, PRINTER, SHELF, asked_of
from planner.io.records.part_record import MeshHint
from planner.io.records.workshop_record import read_workshop
from planner.io.toml_file import parse_toml
from planner.kit.proposal import Proposal

_EXAMPLE = re.compile(r'^# (?=\[|[a-z_0-9]+ = |")', re.MULTILINE)
RECIPES = builtin_recipes()
HINTS = (MeshHint("wing_L.stl", 1, "left", True), MeshHint("horn_x4.stl", 4, "none", False))


def read(text: str):
    return read_airframe(parse_toml(text, "airframe.toml"), HINTS, RECIPES, "EUR", name="kit").airframe


def test_a_draft_is_read_as_it_is_and_with_all_its_examples():
    """Uncommented, every example is valid: stack, both kinds of fittings, finish, limits and head."""
    draft = airframe_draft("kit", HINTS, tuple(RECIPES.values()))
    plain, full = read(draft), read(_EXAMPLE.sub("", draft))
    assert (plain.fittings, plain.stacks, plain.mass_limits_g) == ((), (), ())
    assert [fitting.name for fitting in full.fittings] == ["battery", "carbon tube 8 x 6 x 900"]
    assert full.stacks[0].direction == "across"
    assert "overlap_mm = 12" in draft
    assert full.finish.glue_g_per_cm2 == 0.02
    assert full.mass_limits_g == (("lightest class", 250.0),)
    assert full.balance_window_mm == (50.0, 65.0)


def test_copies_and_hands_follow_the_names():
    """Four horns, one wing half with its mirror image."""
    horn, wing = sorted(
        read(airframe_draft("kit", HINTS, tuple(RECIPES.values()))).parts, key=lambda p: p.name
    )
    assert horn.copies == 4
    assert (wing.hand, wing.mirror) == ("left", True)


def test_what_was_found_stands_in_the_rows_and_what_is_not_sure_as_a_comment() -> None:
    """Sure lines are read, unsure ones are once the sign is taken away; reasons from files are harmless."""
    found = (
        Proposal("wing_L.stl", "section", "left wing", '"wing"', 0.95),
        Proposal("wing_L.stl", "option", ("tip", 'a "b"\n[part]'), "names differ", 0.9),
        Proposal("wing_L.stl", "filament", "TPU", "soft\n[evil]", 0.5),
        Proposal("horn_x4.stl", "copies", 0, "does not fly", 0.9),
    )
    draft = airframe_draft("kit", HINTS, tuple(RECIPES.values()), found=found)
    horn, wing = sorted(read(draft).parts, key=lambda part: part.mesh)
    assert (horn.copies, wing.section, wing.filament) == (0, "left wing", "PLA")
    assert wing.option == ("tip", 'a "b"\n[part]')
    assert draft.count("not sure:") == 1
    sure = read(re.sub(r"^# (?=filament)", "", draft, flags=re.MULTILINE))
    assert {part.filament for part in sure.parts if part.mesh == "wing_L.stl"} == {"TPU"}
    assert read(draft).sections == ("left wing",)


def uncommented(draft: str, lines: Iterable[str]) -> str:
    """The draft with these lines of it as keys."""
    for line in lines:
        assert f"# {line}\n" in draft, line
        draft = draft.replace(f"# {line}\n", f"{line}\n")
    return draft


def choices() -> Iterator[tuple[str, ...]]:
    """Lines that are taken off together: each key of the printer, whole rows, and all of it."""
    yield from ((line,) for line in PRINTER)
    for block in SHELF:
        yield block
        begun = next((n for n, line in enumerate(block) if line.startswith("grams_left")), 1)
        yield from ((*block[: begun + 1], line) for line in block[begun + 1 :])
    yield (*PRINTER, *(line for block in SHELF for line in block))


@pytest.mark.parametrize("zone", [None, "Europe/Lisbon"])
@pytest.mark.parametrize("lines", list(choices()))
def test_a_workshop_draft_is_read_with_each_of_its_comments_taken_off(
    lines: tuple[str, ...], zone: str | None
) -> None:
    """Nozzle, plate, absences, drying, colours, lots, days: alone and all together."""
    printers, filaments = builtin_printers(), builtin_filaments()
    draft = workshop_draft(tuple(printers.values()), tuple(filaments.values()), "EUR", zone)
    for text in (draft, uncommented(draft, lines)):
        read_workshop(parse_toml(text, "workshop.toml"), printers, filaments)


def test_the_newer_keys_are_all_mentioned_in_a_workshop_draft() -> None:
    """And mean what they say."""
    printers, filaments = builtin_printers(), builtin_filaments()
    draft = workshop_draft(tuple(printers.values()), tuple(filaments.values()), "EUR")
    full = uncommented(draft, next(reversed(list(choices()))))
    shop = read_workshop(parse_toml(full, "workshop.toml"), printers, filaments)
    assert shop.dryer is not None
    assert (shop.dryer.room, shop.spools[0].colour, shop.spools[0].lot) == (2, "white", "A 17")
    assert shop.printers[0].away[0].why == "repair"
    assert shop.printers[0].plate == "smooth"
    assert next(one for one in shop.filaments if one.name == "PLA").needs_drying


SECTIONS = ("left wing",)


@pytest.mark.parametrize(
    "lines", [*((line,) for line in (*ASKED, *asked_of(SECTIONS))), (*ASKED, *asked_of(SECTIONS))]
)
def test_an_airframe_draft_is_read_with_each_wish_taken_off(lines: tuple[str, ...]) -> None:
    """Dates, colours, one lot and priority; sections are named as they were found."""
    found = (Proposal("wing_L.stl", "section", SECTIONS[0], "wing", 0.95),)
    draft = airframe_draft("kit", HINTS, tuple(RECIPES.values()), found=found)
    airframe = read(uncommented(draft, lines))
    for line in lines:
        key, told = line.split(" = ")[0], parse_toml(line, "line").values
        held = getattr(airframe, key)
        if key == "section_dates":  # the day of all of it holds for the other sections
            held = {name: day for name, day in held.items() if name in told[key]}
        assert (list(held) if isinstance(held, tuple) else held) == told[key]
