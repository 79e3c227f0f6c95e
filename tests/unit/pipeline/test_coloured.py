"""Colours that sections ask for: which filament each part, spool and printer is of then."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from planner.errors import RecordError
from planner.model.airframe import Airframe
from planner.model.filament import Filament, Spool
from planner.model.part import Part
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from planner.model.replan import EarlierFilament, EarlierPart, EarlierPlan
from planner.model.several import together, told_apart
from planner.model.workshop import Workshop
from planner.pipeline.coloured import coloured
from planner.pipeline.job import Job
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from tests.kits.jobs import random_job

PLA = Filament("PLA", "PLA", 1.24, 1.24, price_minor=2000)
FOAM = Filament("foaming PLA", "PLA", 1.24, 0.62)
PARTS = (
    Part("rib", "rib.stl", "wing", Recipe("plain"), "PLA"),
    Part("hull", "hull.stl", "fuselage", Recipe("plain"), "PLA"),
    Part("fin", "fin.stl", "tail", Recipe("plain"), "foaming PLA"),
)
SHELF = (
    Spool("1", "PLA", 300.0, colour="red"),
    Spool("2", "PLA", 500.0, colour="white"),
    Spool("3", "PLA", 100.0),
    Spool("4", "foaming PLA", 100.0, colour="red"),
)
PRINTER = Printer("desk", "desk", loaded="PLA", loaded_colour="red", filaments=("PLA",))


NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
EARLIER_RED = EarlierPlan(
    "plan.json", "", "glider", NOON, NOON,
    parts={name: EarlierPart(of, "plain", 9.0)
           for name, of in (("rib", "PLA red"), ("hull", "PLA red"), ("fin", "foaming PLA"))},
    part_of={}, batches=(), runs=(), past=(), spools=(), told_g={},
    filaments={"PLA red": EarlierFilament(1.24, 210.0, "red", "PLA")},
)  # fmt: skip


def job(colours: dict[str, str], spools: tuple[Spool, ...] = SHELF, **more: str) -> Job:
    shop = Workshop((replace(PRINTER, minutes_of=(("PLA", 1.2),)),), (PLA, FOAM), spools)
    frame = Airframe("glider", PARTS, section_colours=colours, colour=more.get("colour", ""))
    return Job(frame, shop, {}, datetime(2026, 12, 1, tzinfo=UTC))


def of_parts(made: Job) -> dict[str, str]:
    return {part.name: part.filament for part in made.airframe.parts}


def of_spools(made: Job) -> dict[str, str]:
    return {spool.name: spool.filament for spool in made.workshop.spools}


def test_without_a_colour_asked_for_the_job_is_what_it_was() -> None:
    """The very same value, whatever colours the shelf tells."""
    one = job({})
    assert coloured(one) is one


def test_what_asks_for_a_colour_has_a_filament_of_its_own() -> None:
    """The wing in red: its spool and what is on the printer are red, too; all others stay the stock item."""
    made = coloured(job({"wing": "red"}))
    assert of_parts(made) == {"rib": "PLA red", "hull": "PLA", "fin": "foaming PLA"}
    assert of_spools(made) == {"1": "PLA red", "2": "PLA", "3": "PLA", "4": "foaming PLA"}
    printer = made.workshop.printers[0]
    assert (printer.loaded, printer.filaments) == ("PLA red", ("PLA", "PLA red"))
    assert printer.minutes_times("PLA red") == printer.minutes_times("PLA") == pytest.approx(1.2)
    assert made.workshop.filament("PLA red") == PLA.coloured("red")
    assert coloured(made) == made


def test_an_airframe_of_one_colour() -> None:
    """All sections but those that ask for another; every filament has the colour that is asked of it."""
    made = coloured(job({"wing": "white"}, colour="red"))
    assert of_parts(made) == {"rib": "PLA white", "hull": "PLA red", "fin": "foaming PLA red"}
    assert of_spools(made) == {"1": "PLA red", "2": "PLA white", "3": "PLA", "4": "foaming PLA red"}


def test_pieces_that_any_colour_will_do_for_go_with_most_of_the_shelf() -> None:
    """Where every spool of it is asked for: 500 g of white against 300 g of red. It is said; once."""
    shelf = SHELF[:2]
    both = Airframe(
        "glider",
        (*PARTS, replace(PARTS[0], name="tip", section="tip")),
        section_colours={"wing": "red", "tip": "white"},
    )
    made = coloured(replace(job({}, shelf), airframe=both))
    assert of_parts(made)["hull"] == "PLA white"
    note = "colours: pieces of PLA that ask for none are printed in white, of which the shelf holds most"
    assert made.assumptions == (note,)
    assert coloured(made) == made
    assert (
        of_parts(coloured(job({"wing": "red"}, shelf)))["hull"] == "PLA"
    )  # white is for whoever asks for none
    empty = (replace(SHELF[0], grams_left=0.0),)
    assert of_parts(coloured(job({"wing": "red"}, empty)))["hull"] == "PLA"


def test_both_hands_of_a_part_are_of_one_colour() -> None:
    """One design is printed in one filament: sections of two colours are refused, with a way out."""
    wing = replace(PARTS[0], hand="left", mirror=True, section="left wing", other_section="right wing")
    frame = Airframe("glider", (wing,), section_colours={"left wing": "red", "right wing": "green"})
    with pytest.raises(RecordError, match="both hands, and its sections ask for 'left wing' red") as told:
        coloured(replace(job({}), airframe=frame))
    assert "a [[part]] of its own" in told.value.next_step
    half = replace(frame, section_colours={"left wing": "red"})
    with pytest.raises(RecordError, match="'right wing' in none"):
        coloured(replace(job({}), airframe=half))
    same = replace(frame, section_colours={"left wing": "red", "right wing": "red"})
    assert of_parts(coloured(replace(job({}), airframe=same))) == {"rib": "PLA red"}


def test_a_name_that_another_filament_has_is_refused() -> None:
    """Nothing is told by two names, or two things by one."""
    one = job({"wing": "red"})
    shop = replace(one.workshop, filaments=(PLA, FOAM, replace(PLA, name="PLA red")))
    with pytest.raises(RecordError, match="PLA in red would be called 'PLA red'"):
        coloured(replace(one, workshop=shop))


def test_filaments_that_a_part_may_be_printed_in_have_its_colour() -> None:
    """What a trade-off may choose instead of it is red, too."""
    part = replace(PARTS[0], allowed_filaments=("PLA", "foaming PLA"))
    frame = Airframe("glider", (part,), section_colours={"wing": "red"})
    made = coloured(replace(job({}), airframe=frame))
    assert {one.name for one in made.workshop.filaments if one.of} == {"PLA red", "foaming PLA red"}


def test_each_of_several_airframes_has_its_own_colours() -> None:
    """The wing of one is red, that of the other is of any colour."""
    a = told_apart(Airframe("a", PARTS, section_colours={"wing": "red"}))
    b = told_apart(Airframe("b", PARTS, colour="white", section_colours={"tail": "red"}))
    made = coloured(replace(job({}), airframe=together((a, b))))
    assert of_parts(made) == {
        "a / rib": "PLA red",
        "a / hull": "PLA",
        "a / fin": "foaming PLA red",  # the only spool of it is asked for in red
        "b / rib": "PLA white",
        "b / hull": "PLA white",
        "b / fin": "foaming PLA red",
    }
    own = {part.name: part.filament for one in made.airframe.members for part in one.parts}
    assert own == of_parts(made)


def test_a_plan_that_goes_on_keeps_its_colours() -> None:
    """Pieces that any will do for stay as they were; a colour that nobody asks for now is known."""
    shelf = SHELF[:1]
    first = coloured(job({"wing": "red"}, shelf))
    assert of_parts(first)["hull"] == "PLA red"
    was = EARLIER_RED
    assert of_parts(coloured(job({"wing": "red"}, SHELF), was))["hull"] == "PLA red"
    later = coloured(job({}, SHELF), was)
    assert of_parts(later) == {"rib": "PLA red", "hull": "PLA red", "fin": "foaming PLA"}
    plain = replace(was, filaments={"PLA": EarlierFilament(1.24, 210.0)})
    assert of_parts(coloured(job({"wing": "red"}, shelf), plain))["hull"] == "PLA red"  # none asked for then


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_random_kits_in_colours_are_sound(seed: int) -> None:
    """Sections and spools in red, white or none: every plan holds before its check."""
    one, rng = random_job(seed), np.random.default_rng(seed + 7)
    words = ("red", "white", "")
    homes = {name for part in one.airframe.parts for name in (part.section, part.other_section) if name}
    asked = {name: words[rng.integers(0, 2)] for name in sorted(homes) if rng.random() < 0.7}
    spools = tuple(replace(s, colour=words[rng.integers(0, 3)]) for s in one.workshop.spools)
    made = coloured(
        replace(
            one,
            airframe=replace(one.airframe, section_colours=asked),
            workshop=replace(one.workshop, spools=spools),
        )
    )
    plan = run(made)
    assert faults(plan) == ()
    home = {piece.name: piece.section for piece in plan.pieces}
    for batch in plan.batches:
        colours = {asked[home[p.piece]] for p in batch.placed if home[p.piece] in asked}
        assert len(colours) < 2
        assert all(batch.filament.endswith(f" {colour}") for colour in colours)
