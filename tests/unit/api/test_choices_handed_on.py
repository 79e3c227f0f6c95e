"""What an earlier plan's choices become, values in place of files, and the names of time zones."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from planner.api.clock import zone_name
from planner.api.held import held_notes, made_choices, still_there
from planner.api.own import Own
from planner.api.request import PlanRequest
from planner.errors import RecordError
from planner.model.airframe import Airframe
from planner.model.choices import Choices
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.workshop import Workshop

PLA, TPU = Filament("PLA", "PLA", 1.24, 1.24), Filament("TPU", "TPU", 1.21, 1.21)
SHOP = Workshop((Printer("desk 1", "desk"), Printer("desk 2", "desk"), Printer("tall", "tall")), (PLA,))
PLANE = Airframe("kit", (), options={"gear": "skid"}, choices={"gear": ("skid", "wheels")})
HELD = Choices({"gear": "skid"}, ("desk:2", "lost"), "PLA", ("finish", "cost"))


def asked(**more: object) -> PlanRequest:
    return PlanRequest((Path("kit"),), **{"held": HELD, **more})  # type: ignore[arg-type]


def test_printers_that_are_still_there():
    """By their own name, or by the one in front of a count."""
    assert still_there(HELD, {"desk", "tall"}) == ("desk:2",)
    assert still_there(Choices(printers=("tall", "a:b:3")), {"tall", "a:b"}) == ("tall", "a:b:3")
    assert still_there(HELD, ()) == ()


def test_what_holds_on():
    """What was chosen for the plan before, where nothing else is asked for."""
    made = made_choices(asked(), PLANE, SHOP)
    assert made == Choices({"gear": "skid"}, ("desk:2",), "PLA", ("finish", "cost"))
    new = made_choices(asked(printers=("tall",), filament="TPU", prefer=("mass",)), PLANE, SHOP)
    assert new == Choices({"gear": "skid"}, ("tall",), "TPU", ("mass",))
    other = replace(PLANE, options={"gear": "wheels"})
    assert made_choices(asked(), other, SHOP).options == {}
    assert made_choices(asked(options={"gear": "wheels"}), other, SHOP).options == {"gear": "wheels"}


def test_what_holds_on_is_told():
    """Word for word: what holds, and what is gone; nothing where nothing was chosen."""
    assert held_notes(asked(), PLANE, SHOP) == (
        "as chosen for the plan before, until you say otherwise: option gear = skid; printer desk:2;"
        " filament PLA; prefer finish, cost",
        "chosen for the plan before and no longer there: printer lost",
    )
    new = asked(options={"gear": "skid"}, printers=("tall",), filament="TPU", prefer=("mass",))
    assert held_notes(new, PLANE, SHOP) == ()
    gone = held_notes(asked(held=Choices({"gear": "floats"})), PLANE, SHOP)
    assert gone == ("chosen for the plan before and no longer there: option gear = floats",)
    assert held_notes(asked(held=Choices()), PLANE, SHOP) == ()


def test_filaments_and_spools_of_a_caller():
    """Filaments stand beside those of the workshop and before one of the same name; spools are the shelf."""
    own = Own(
        filaments=(TPU, replace(PLA, spool_g=500.0)), spools=(Spool("1", "TPU", 9.0), Spool("2", "PLA", 9.0))
    )
    made, told = own.supplied(replace(SHOP, spools=(Spool("old", "PLA", 1.0),)))
    assert [(f.name, f.spool_g) for f in made.filaments] == [("PLA", 500.0), ("TPU", 1000.0)]
    assert [s.name for s in made.spools] == ["1", "2"]
    assert told == (
        "filaments handed over by the program that asked for the plan: TPU, PLA",
        "the shelf was handed over by the program that asked for the plan: 2 spools",
    )
    assert Own().supplied(SHOP) == (SHOP, ())
    assert Own(spools=()).supplied(replace(SHOP, spools=(Spool("old", "PLA", 1.0),)))[0].spools == ()
    with pytest.raises(RecordError, match="the filament 'TPU' is not known"):
        Own(spools=(Spool("1", "TPU", 9.0),)).supplied(SHOP)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Europe/Lisbon", "Europe/Lisbon"),
        ("UTC", "UTC"),
        ("Etc/UTC", "UTC"),
        ("Zulu", "UTC"),
        ("Atlantis", None),
        ("../../etc/passwd", None),
        ("", None),
        ("x" * 101, None),
        (None, None),
        (3, None),
    ],
)
def test_names_of_zones(text, name):
    """Those that the time zone database knows; UTC in one spelling."""
    assert zone_name(text) == name
