"""How many new spools the grams need, and what lies on the shelf for the search."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.attendance import Attendance
from planner.model.filament import Spool
from planner.scheduling.spools.shelf_search import Reel, least_by_grams, reels_of
from tests.unit.scheduling.workshops import MONDAY, make_batch, make_workshop


def shop(*spools: Spool, purge: float = 1.0):
    return replace(make_workshop(Attendance(), spools=spools), run_purge_g=purge)


@pytest.mark.parametrize(
    ("grams", "shelf", "least"),
    [
        ([999.0], 0.0, 1),  # with 1 g of purge just one spool of 1000 g
        ([999.01], 0.0, 2),
        ([999.0, 999.0], 0.0, 2),
        ([500.0, 500.0], 2.0, 1),
        ([500.0, 500.0], 1.99, 2),  # 1002 g less 1.99 are 1000.01
        ([50.0], 51.0, 0),
        ([50.0], 900.0, 0),
        ([50.0], 50.99, 1),
    ],
)
def test_least_spools_by_hand(grams, shelf, least):
    """Grams of all beds and their purges, less the shelf, over what a full spool holds, rounded up."""
    beds = [make_batch(f"bed {n}", 60.0, mass_g=g) for n, g in enumerate(grams)]
    assert least_by_grams(beds, shop(Spool("1", "PLA", shelf))) == {"PLA": least}


def test_the_shelf_of_the_search():
    """Spools of filaments in use that hold something, then so many new ones; from when each is at hand."""
    day = (MONDAY + timedelta(days=1)).date()  # midnight is 360 minutes after 18:00
    workshop = shop(
        Spool("1", "PLA", 12.34),
        Spool("2", "TPU", 50.0),
        Spool("3", "PLA", 0.0),
        Spool("4", "PLA", 5.0, None, day),
    )
    beds = [make_batch("bed 1", 60.0), make_batch("bed 2", 60.0, filament="foaming PLA")]
    assert reels_of(beds, workshop, MONDAY, {"PLA": 2, "TPU": 9}) == (
        Reel("1", "PLA", 1234, 0),
        Reel("4", "PLA", 500, 360),
        Reel("", "PLA", 100_000, 0),
        Reel("", "PLA", 100_000, 0),
    )
    past = replace(workshop, spools=(Spool("4", "PLA", 5.0, None, (MONDAY - timedelta(days=1)).date()),))
    assert reels_of(beds, past, MONDAY, {}) == (Reel("4", "PLA", 500, 0),)
