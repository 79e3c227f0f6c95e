"""The check of what is bought: each rule by a plan that breaks it alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.filament import Spool
from planner.model.schedule import Buying, SpoolUse
from planner.scheduling.verify_buying import verify_buying
from tests.unit.scheduling.sound_plan import FOAM, PLA, SOUND, TPU, at
from tests.unit.scheduling.workshops import MONDAY

# Grams of the sound plan with 1 g of purge a bed: PLA 102, foaming 51, TPU 102. The shelf holds 825 g of PLA.
ONE_MORE = SpoolUse("new 3", PLA, True, 1000.0, 0.0, 0.0, 1000.0, None)
NO_NEED = "new 3 is bought, and the shelf covers the grams of PLA."
HARDLY = "new 3 is bought, but the plan without it ends hardly later."


def faults(*more: SpoolUse, buy: str = "if needed", buying: Buying | None = None, shelf=None, goes_on=False):
    shop = replace(SOUND.shop, buy=buy, spools=SOUND.shop.spools if shelf is None else shelf)
    schedule = replace(SOUND.schedule(), buying=buying)
    given = (schedule, (*SOUND.uses, *more), SOUND.batches, shop, MONDAY)
    return list(verify_buying(*given, goes_on=goes_on))


def told(minutes: float | None, *, bought: bool = True) -> Buying:
    """The plan without the spool ends so many minutes after the sound one, at 15 h 45."""
    other = None if minutes is None else at("09:45", 1) + timedelta(minutes=minutes)
    return Buying(1, None, 1.0, other, bought)


def test_what_the_grams_need_may_be_bought():
    """One spool of foaming PLA and one of TPU, of which the shelf has nothing."""
    assert faults() == []


def test_nothing_may_be_bought():
    """With ``never`` each new spool is told of; so it is where the shelf is not known."""
    words = [f"{name} is bought, and nothing may be bought." for name in ("new 1", "new 2")]
    assert faults(buy="never") == words
    assert faults(buy="never", shelf=()) == words


def test_a_spool_too_many_is_found():
    """825 g of PLA on the shelf for 102 g."""
    assert faults(ONE_MORE) == [NO_NEED]


@pytest.mark.parametrize("bought", [True, False])
def test_a_spool_too_many_that_the_plan_says_it_does_not_buy(bought):
    """What is told of buying must agree with what is bought."""
    assert faults(ONE_MORE, buying=told(None, bought=bought)) == ([] if bought else [NO_NEED])


# The plan takes 15.75 h = 945 minutes; 1 % of it are 9.45.
@pytest.mark.parametrize(("minutes", "words"), [(9.4, [HARDLY]), (9.5, []), (-60.0, [HARDLY])])
def test_a_spool_that_saves_hardly_any_time_is_found(minutes, words):
    """More than one percent sooner is a reason."""
    assert faults(ONE_MORE, buying=told(minutes)) == words


def test_what_is_asked_for_speed_needs_no_reason():
    """Nor where no spool is listed, nor in a plan that goes on from another."""
    assert faults(ONE_MORE, buy="for speed") == []
    assert faults(ONE_MORE, shelf=()) == []
    assert faults(ONE_MORE, goes_on=True) == []


@pytest.mark.parametrize(
    ("grams", "spools", "words"),
    [
        (102.0, 0, []),
        (102.0, 1, [NO_NEED]),
        (101.98, 1, [NO_NEED]),  # five beds of rounding: 0.0255 g
        (101.97, 1, []),
        (0.0, 1, []),
        (0.0, 2, ["new 4 is bought, and the shelf covers the grams of PLA."]),
    ],
)
def test_least_spools_by_hand(grams, spools, words):
    """102 g of PLA, and so many grams of it on the shelf."""
    more = [replace(ONE_MORE, spool=f"new {3 + n}") for n in range(spools)]
    shelf = (Spool("A", PLA, grams), Spool("x", FOAM, 0.0), Spool("y", TPU, 0.0))
    assert faults(*more, shelf=shelf) == words


def test_many_spools_are_counted():
    """Beds of 2 450 g of TPU, 200 g on the shelf: three spools of 1 000 g, not four."""
    beds = tuple(replace(b, mass_g=1224.0) if b.filament == TPU else b for b in SOUND.batches)
    shelf = (*SOUND.shop.spools, Spool("t", TPU, 200.0))
    shop = replace(SOUND.shop, spools=shelf)
    for more, words in ((2, []), (3, ["new 5 is bought, and the shelf covers the grams of TPU."])):
        uses = [SpoolUse(f"new {n}", TPU, True, 1000.0, 0.0, 0.0, 0.0, None) for n in range(3, 3 + more)]
        found = verify_buying(SOUND.schedule(), (*SOUND.uses, *uses), beds, shop, MONDAY)
        assert list(found) == words
