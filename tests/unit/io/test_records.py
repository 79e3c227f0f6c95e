"""Wrong records are refused with file, line, key and the nearest right one."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from planner.errors import RecordError
from planner.io.records.airframe_record import AirframeReading, read_airframe
from planner.io.records.builtin import builtin_filaments, builtin_printers, builtin_recipes, chosen_printers
from planner.io.records.part_record import MeshHint
from planner.io.records.workshop_record import read_workshop
from planner.io.toml_file import parse_toml
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop

HINTS = (MeshHint("a.stl"), MeshHint("rib_1.stl"), MeshHint("rib_2.stl"), MeshHint("clip x2.stl", 2))


def airframe(text: str) -> AirframeReading:
    recipes = {name: Recipe(name) for name in ("plain", "skin")}
    return read_airframe(parse_toml(text, "airframe.toml"), HINTS, recipes, "EUR", name="folder")


def workshop(text: str) -> Workshop:
    return read_workshop(parse_toml(text, "workshop.toml"), builtin_printers(), builtin_filaments())


def test_an_empty_file_takes_the_folder_by_its_names() -> None:
    """Every mesh becomes a part by the defaults, and the report is told so."""
    reading = airframe("")
    assert [(p.name, p.copies) for p in reading.airframe.parts] == [
        ("a", 1),
        ("rib 1", 1),
        ("rib 2", 1),
        ("clip x2", 2),
    ]
    assert reading.assumptions[0].startswith("4 meshes are named in no [[part]]")


def test_an_exact_name_wins_over_a_pattern() -> None:
    """``rib_*.stl`` leaves the rib that a row of its own names."""
    text = '[[part]]\nmesh = "rib_*.stl"\ncopies = 3\n[[part]]\nmesh = "rib_2.stl"\ncopies = 7\n'
    copies = {part.mesh: part.copies for part in airframe(text).airframe.parts}
    assert copies == {"rib_1.stl": 3, "rib_2.stl": 7, "a.stl": 1, "clip x2.stl": 2}


def test_patterns_take_what_rows_before_them_leave() -> None:
    """Rows of their own first, then patterns in their order; nothing is printed twice by two patterns."""
    text = (
        '[[part]]\nmesh = "rib_1.stl"\ncopies = 3\n[[part]]\nmesh = "rib_*.stl"\ncopies = 7\n'
        '[[part]]\nmesh = "*.stl"\ncopies = 9\n'
    )
    parts = airframe(text).airframe.parts
    assert {part.mesh: part.copies for part in parts} == {
        "rib_1.stl": 3,
        "rib_2.stl": 7,
        "a.stl": 9,
        "clip x2.stl": 9,
    }
    assert len(parts) == 4


def test_one_pattern_twice_is_two_parts() -> None:
    """As a mesh may have two rows: here one for each choice of an option."""
    text = "".join(
        f'[[part]]\nmesh = "a.*"\nname = "{name}"\noption = {{ nose = "{name}" }}\n' for name in ("b", "c")
    )
    parts = airframe(text + '[options]\nnose = "b"\n').airframe.parts
    assert [part.name for part in parts if part.mesh == "a.stl"] == ["b", "c"]


def test_a_pattern_for_meshes_that_all_have_rows_says_so() -> None:
    """It is not told that there is no such mesh."""
    text = '[[part]]\nmesh = "rib_1.stl"\n[[part]]\nmesh = "rib_2.stl"\n[[part]]\nmesh = "rib_*.stl"\n'
    with pytest.raises(RecordError, match=r"matches only meshes that have other rows: rib_1.stl, rib_2.stl"):
        airframe(text)


def test_no_copies_leave_a_part_out() -> None:
    """The documented way to leave a mesh of the folder unprinted."""
    from planner.model.part import pieces_of

    part = airframe('[[part]]\nmesh = "a.stl"\ncopies = 0\n').airframe.parts[0]
    assert (part.mesh, pieces_of(part)) == ("a.stl", ())


def test_a_seat_is_twelve_numbers_and_what_is_none_is_refused_with_its_line() -> None:
    """Read as it is written; refused where it turns nothing rightly, or where another key says the place."""
    turn = "0, -1, 0, 1, 0, 0, 0, 0, 1"
    part = airframe(f'[[part]]\nmesh = "a.stl"\nseat = [{turn}, 120, 0, 35]\n').airframe.parts[0]
    assert part.seat == (0.0, -1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 120.0, 0.0, 35.0)
    for line, said in (
        (f"seat = [{turn}]", "has 9 numbers; it needs 12"),
        ("seat = [1, 1, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0]", "no rotation"),
        (f"seat = [{turn}, 0, 0, 0]\nstation_mm = 3", "both seat and station_mm"),
        (f"seat = [{turn}, 0, 0, 0]\ncopies = 2", "2 copies cannot all sit in one seat"),
        ('seat = "left"', "seat"),
    ):
        with pytest.raises(RecordError, match=said) as caught:
            airframe(f'[[part]]\nmesh = "a.stl"\n{line}\n')
        assert "airframe.toml" in str(caught.value)


def test_a_part_has_the_places_that_its_file_gives_its_copies() -> None:
    """Named in a row or not."""
    places = ((1.0, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0), (1.0, 0, 0, 0, 1, 0, 0, 0, 1, 0, 90.0, 0))
    hint = MeshHint("a.3mf", 2, places=places)
    for text in ("", '[[part]]\nmesh = "a.3mf"\n'):
        file = parse_toml(text, "airframe.toml")
        made = read_airframe(file, (hint,), builtin_recipes(), "EUR", name="x").airframe.parts[0]
        assert (made.copies, made.drawn_at) == (2, places)


def test_brackets_in_a_name_are_not_a_pattern() -> None:
    """A file called ``hatch [v2].stl`` is found by its own name."""
    text = '[[part]]\nmesh = "hatch [v2].stl"\ncopies = 2\n'
    reading = read_airframe(
        parse_toml(text, "airframe.toml"),
        (MeshHint("hatch [v2].stl"),),
        {"plain": Recipe("plain")},
        "EUR",
        name="x",
    )
    assert reading.airframe.parts[0].copies == 2


def test_an_open_option_takes_its_first_choice_and_says_so() -> None:
    """Nothing is left out silently when a choice is missing."""
    text = '[[part]]\nmesh="a.stl"\noption={nose="A"}\n[[part]]\nmesh="rib_1.stl"\noption={nose="B"}\n'
    reading = airframe(text)
    assert reading.airframe.options == {"nose": "A"}
    assert any("option nose" in words for words in reading.assumptions)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[[part]]\nmesh = "a.stl"\nwals = 2\n', ["airframe.toml, line 3", "'wals'", "Did you mean"]),
        ('[[part]]\nmesh = "a.stl"\ncopis = 2\n', ["line 3", "'copis'", "Did you mean 'copies'?"]),
        ('[[part]]\nmesh = "a.stl"\nrecipe = "skn"\n', ["line 3", "'skn'", "Did you mean 'skin'?"]),
        ('[[part]]\nmesh = "b.stl"\n', ["line 2", "matches no mesh", "Did you mean 'a.stl'?"]),
        ('[[part]]\nmesh = "a.stl"\ncopies = -1\n', ["line 3", "copies = -1", "below the limit of 0"]),
        ("[recipe.thin]\nlayer_height_mm = 9\n", ["line 2", "layer_height_mm = 9", "limit of 2"]),
        ('[recipe.held]\nsupport = "somewhere"\n', ["'somewhere'", "bed only, everywhere"]),
        (
            "[recipe.held]\nsupport_widening_deg = 60\n",
            ["line 2", "support_widening_deg = 60", "limit of 45"],
        ),
        ("[recipe.held]\nsupport_wals = 2\n", ["support_wals", "'support_walls'"]),
        ('[airframe]\ntarget_mass_g = "x"\n', ["line 2", "airframe.target_mass_g = 'x'", "a number"]),
        ("[airframe\n", ["not valid TOML", "line 1"]),
        ('[[fitting]]\nname = "t"\nmas_g = 2\n', ["line 1", "'mass_g'", "'mas_g'"]),
        ('[[fitting]]\nname = "t"\nmass_g = 2\nprice = "2 USD"\n', ["line 4", "USD", "EUR"]),
        ('[options]\nnose = "B"\n[[part]]\nmesh = "a.stl"\noption = { nose = "A" }\n', ["line 1", "'B'"]),
        ('[[part]]\nmesh = "a.stl"\npose = [1, 0, 0, 0, 1, 0, 0, 0]\n', ["line 3", "8 numbers", "9"]),
        ('[[part]]\nmesh = "a.stl"\npose = [2, 0, 0, 0, 1, 0, 0, 0, 1]\n', ["line 3", "no rotation"]),
        ('[[part]]\nmesh = "a.stl"\ncopies = true\n', ["line 3", "True", "whole number"]),
        ('[[part]]\nmesh = "a.stl"\npairs = "no"\n', ["line 3", "pairs", "true or false"]),
        (
            '[[fitting]]\nname = "b"\nmass_g = 9\nstation_mm = 5\nmovable_mm = [6, 9]\n',
            ["movable_mm = [6, 9]", "station_mm = 5"],
        ),
        ('[[fitting]]\nname = "b"\nmass_g = 9\nmovable_mm = [6]\n', ["line 4", "movable_mm", "needs 2"]),
        ('[[fitting]]\nname = "b"\nmass_g = 9\nmovable_mm = [6, 9]\n', ["no station_mm"]),
        (
            '[[part]]\nmesh = "a.stl"\nstack = { name = "w", order = 1, detachable = 1 }\n',
            ["line 3", "detachable", "true or false"],
        ),
        (
            '[[part]]\nmesh = "a.stl"\nstack = { name = "w", order = 1 }\noverlap_mm = -2\n',
            ["line 4", "overlap_mm = -2", "limit of 0"],
        ),
        ('[[part]]\nmesh = "a.stl"\noverlap_mm = "2"\n', ["line 3", "overlap_mm = '2'", "a number"]),
        (
            '[[part]]\nmesh = "a.stl"\noverlap_mm = 2\n',
            ["line 3", "overlap_mm = 2", "in no stack", "stack ="],
        ),
        ('[[fitting]]\nname = "t"\nmass_g = 2\njoins = ["b"]\n', ["'t'", "joins names 'b'"]),
        ('part = "a.stl"\n', ["line 1", "[[part]]"]),
        ('[[part]]\nmesh = "a.stl"\n[[part]]\nmesh = "a.stl"\n', ["two parts are named 'a'"]),
        ('[defaults]\nrecipe = "plan"\n', ["there is no recipe 'plan'", "Did you mean 'plain'?"]),
    ],
)
def test_wrong_airframe_records(text: str, words: list[str]) -> None:
    """Each message names the place, the value and what would be right."""
    with pytest.raises(RecordError) as caught:
        airframe(text)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('currency = "Euro"\n', ["line 1", "'Euro'", "ISO 4217"]),
        ('[[printer]]\nname = "x"\nlike = "desktop"\n', ["line 3", "'desktop'", "Known:"]),
        ('[[printer]]\nname = "x"\ncount = 0\n', ["line 3", "between 1 and"]),
        ('[[printer]]\nname = "x"\nminutes_factor = 0\n', ["line 3", "minutes_factor", "more than 0"]),
        ('[[printer]]\nname = "x"\nminutes_factor = "1"\n', ["line 3", "minutes_factor", "a number"]),
        (
            '[[printer]]\nname = "x"\nkind = "k"\n'
            '[[printer]]\nname = "y"\nkind = "k"\nminutes_factor = 1.2\n',
            ["'x'", "'y'", "one kind", "1.2"],
        ),
        ('[[printer]]\nname = "x"\nbed = { shape = "square" }\n', ["line 3", "'square'", "rectangle"]),
        ('[[spool]]\nname = "1"\nfilament = "PLX"\ngrams_left = 5\n', ["'PLX'", "Known:"]),
        ('buy = "sometimes"\n', ["line 1", "'sometimes'", "if needed"]),
        (
            '[[spool]]\nname = "1"\nfilament = "PLA"\ngrams_left = 5\nat_hand_from = "soon"\n',
            ["line 5", "'soon'"],
        ),
        ("longest_run_h = 0\n", ["line 1", "longest_run_h"]),
        ('pairs_together = "yes"\n', ["line 1", "true or false"]),
        ('[[printer]]\nname = "a"\nmost_pieces = 0\n', ["line 3", "most_pieces"]),
        ('[[filament]]\nname = "a"\nlike = "PLA"\nlongest_run_h = -2\n', ["line 4", "longest_run_h"]),
        ('[[spool]]\nname = "1"\nfilament = "PLA"\ngrams_left = -5\n', ["line 4", "-5", "limit of 0"]),
        ('time_zone = "Mars/Base"\n', ["line 1", "'Mars/Base'", "Europe/Lisbon"]),
        ('[[attendance]]\ndays = ["moon"]\nfrom = "08:00"\nuntil = "09:00"\n', ["line 2", "'moon'"]),
        ('[[attendance]]\ndays = ["mon"]\nfrom = "8 am"\nuntil = "09:00"\n', ["line 3", "'8 am'"]),
        ('[[attendance]]\ndays = ["mon"]\nfrom = "10:00"\nuntil = "09:00"\n', ["ends before it begins"]),
        ("[[absence]]\nfrom = 2026-12-24\nuntil = 2026-12-23\n", ["line 2", "ends before it begins"]),
        ('[[absence]]\nfrom = 2026-12-24\nperson = "Eve"\n', ["'Eve'", "no attendance window"]),
        (
            '[[printer]]\nname = "desk"\nlike = "desktop 220"\nloaded = "PLE"\n',
            ["line 4", "'PLE'", "Did you mean 'PLA'?"],
        ),
        (
            '[[printer]]\nname = "desk"\nlike = "desktop 220"\nfilaments = ["PLA", "wood"]\n',
            ["line 4", "'wood'", "no filament is called"],
        ),
        ('[[filament]]\nname = "new"\n', ["line 1", "'material'"]),
        ("clearence_mm = 3\n", ["line 1", "Did you mean 'clearance_mm'?"]),
        ('[[printer]]\nname = "x"\n[[printer]]\nname = "x"\n', ["two printers are named 'x'"]),
    ],
)
def test_wrong_workshop_records(text: str, words: list[str]) -> None:
    """Each message names the place, the value and what would be right."""
    with pytest.raises(RecordError) as caught:
        workshop(text)
    for word in words:
        assert word in str(caught.value)


def test_a_count_makes_as_many_machines_of_one_kind() -> None:
    """Three machines alike are one kind with three names; a changed bed makes a kind of its own."""
    made = workshop(
        '[[printer]]\nname = "p"\nlike = "desktop 220"\ncount = 3\n'
        '[[printer]]\nname = "q"\nlike = "desktop 220"\nclear_height_mm = 300\n'
    )
    assert [p.name for p in made.printers] == ["p 1", "p 2", "p 3", "q"]
    assert [p.kind for p in made.printers] == ["desktop 220"] * 3 + ["q"]


def test_like_takes_what_is_not_written() -> None:
    """A filament like PLA with a price of its own keeps PLA's density."""
    made = workshop('[[filament]]\nname = "house PLA"\nlike = "PLA"\nprice = "17.90 EUR"\n')
    own = made.filament("house PLA")
    assert (own.price_minor, own.solid_g_per_cm3) == (1790, made.filament("PLA").solid_g_per_cm3)


def test_prices_of_the_tables_do_not_change_currency() -> None:
    """In another currency the built-in prices are unknown, not wrong."""
    assert builtin_filaments("SEK")["PLA"].price_minor is None
    assert builtin_filaments()["PLA"].price_minor is not None


def test_every_built_in_row_has_a_source() -> None:
    """No fact of the tables stands without saying where it is from."""
    for rows in (builtin_filaments(), builtin_printers(), builtin_recipes()):
        assert rows
        assert all(row.source not in ("", "given") for row in rows.values())


def test_chosen_printers_are_counted_and_numbered() -> None:
    """``NAME:COUNT`` makes that many machines; a wrong count is refused."""
    known = builtin_printers()
    assert [p.name for p in chosen_printers(("desktop 220:2", "round 300"), known)] == [
        "desktop 220 1",
        "desktop 220 2",
        "round 300",
    ]
    for word in ("desktop 220:x", "desktop 220:0", "nothing"):
        with pytest.raises(RecordError, match="--printer"):
            chosen_printers((word,), known)


def test_windows_name_persons_and_absences_take_them_out() -> None:
    """A window may be one person's; days away have a first and a last, or are one day."""
    made = workshop(
        'time_zone = "Europe/Lisbon"\npersons = 2\naway = [2026-12-25]\n'
        '[[attendance]]\ndays = ["mon"]\nfrom = "18:00"\nuntil = "20:00"\nperson = "Ada"\n'
        '[[attendance]]\ndate = 2026-12-19\nfrom = "10:00"\nuntil = "12:00"\n'
        '[[absence]]\nfrom = 2026-12-20\nuntil = 2026-12-27\nperson = "Ada"\n[[absence]]\nfrom = 2027-01-01\n'
    ).attendance
    assert made.named == ("Ada",)
    assert made.persons == 2
    days = [date(2026, 12, 21), date(2026, 12, 25), date(2026, 12, 28), date(2027, 1, 1)]
    assert [made.away_on(day, "Ada") for day in days] == [True, True, False, True]
    assert [made.away_on(day) for day in days] == [False, True, False, True]


def test_spools_may_come_later_and_buying_is_a_choice() -> None:
    """A date or a moment; without a word spools are bought only if needed."""
    shelf = '[[spool]]\nname = "1"\nfilament = "PLA"\ngrams_left = 5\nat_hand_from = '
    assert workshop(shelf + "2026-12-05\n").spools[0].at_hand_from == date(2026, 12, 5)
    assert workshop(shelf + "2026-12-05T17:30:00\n").spools[0].at_hand_from == datetime(2026, 12, 5, 17, 30)  # noqa: DTZ001
    assert workshop("").buy == "if needed"
    assert workshop('buy = "never"\n').buy == "never"


def test_the_overlap_of_a_part_is_read() -> None:
    """A number, or nothing at all, which leaves it to the meshes."""
    row = '[[part]]\nmesh = "a.stl"\nstack = { name = "w", order = 1 }\n'
    assert airframe(row + "overlap_mm = 12\n").airframe.parts[0].overlap_mm == 12.0
    assert airframe(row).airframe.parts[0].overlap_mm is None


def test_the_older_word_for_support_is_still_read():
    """ "generated" is what "everywhere" was called."""
    row = '[[part]]\nmesh = "a.stl"\nrecipe = "held"\n'
    for word in ("generated", "everywhere"):
        read = airframe(f'[recipe.held]\nsupport = "{word}"\n{row}')
        assert read.airframe.parts[0].recipe.support == "everywhere"


def test_spreads_of_the_ledger_are_read_and_refused() -> None:
    """Each key by itself; nothing below nothing, nothing beyond half, no words."""
    made = workshop("spread_printer = 0.05\nspread_spool = 0.0\n")
    assert (made.spreads.printer, made.spreads.spool, made.spreads.recipe) == (0.05, 0.0, 0.02)
    for wrong in ("spread_recipe = -0.1", "spread_spool = 0.6", 'spread_printer = "x"', "spread_spol = 0"):
        with pytest.raises(RecordError, match="spread_"):
            workshop(wrong + "\n")
