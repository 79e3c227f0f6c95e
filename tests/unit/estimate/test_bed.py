"""Minutes of beds against sums by hand."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.estimate.time.bed import BedPiece, batch_minutes, bed_table, piece_alone_minutes
from planner.model.filament import Filament
from planner.model.printer import Motion, Printer
from planner.model.recipe import Recipe

MOTION = Motion(
    travel_speed=100.0, travel_acceleration=1000.0, retract_s=0.5, layer_change_s=1.0, least_layer_s=8.0
)
PRINTER = Printer("one", "one", motion=MOTION, heat_up_minutes=6.0)
PLA = Filament("PLA", "PLA", 1.24, 1.24)
PLAIN = Recipe("plain")


def piece(*seconds, recipe=PLAIN, reach=40.0):
    """A piece with these seconds in its layers."""
    return BedPiece(np.array(seconds, dtype=float), recipe, reach)


def test_alone_waits_for_the_least_layer_time():
    """Layers of 3, 10 and 5 s wait up to 8 s: 26 s after 6 minutes of heat-up."""
    assert piece_alone_minutes(piece(3, 10, 5), PRINTER, PLA) == pytest.approx(6.0 + 26.0 / 60.0)


def test_together_do_not_wait():
    """Two pieces share layer change and hop: 5 + 5 - 1 + (0.4 + 0.1 + 0.5) = 10 s; then one alone."""
    both = batch_minutes([piece(5, 5), piece(5, 5, 9)], PRINTER, PLA)
    assert both == pytest.approx(6.0 + (10.0 + 10.0 + 9.0) / 60.0)


def test_foam_hops_without_retraction():
    """Foaming filament is not retracted between pieces."""
    foam = dataclasses.replace(PLA, foaming=True)
    both = batch_minutes([piece(5), piece(5)], PRINTER, foam)
    assert both == pytest.approx(6.0 + 9.5 / 60.0)


def test_recipe_may_ask_for_longer_layers():
    """The longest least layer time on the bed holds for all of it."""
    slow = dataclasses.replace(PLAIN, least_layer_s=30.0)
    assert batch_minutes([piece(5), piece(5, recipe=slow)], PRINTER, PLA) == pytest.approx(6.5)
    quick = dataclasses.replace(PLAIN, least_layer_s=0.0)
    assert piece_alone_minutes(piece(3, recipe=quick), PRINTER, PLA) == pytest.approx(6.05)


def test_spirals_that_share_a_bed_change_layers():
    """A spiral has no layer change in its seconds, but pays for one when it has company."""
    spiral = dataclasses.replace(PLAIN, spiral=True)
    both = batch_minutes([piece(5, recipe=spiral), piece(5, recipe=spiral)], PRINTER, PLA)
    assert both == pytest.approx(6.0 + 12.0 / 60.0)
    assert piece_alone_minutes(piece(9, recipe=spiral), PRINTER, PLA) == pytest.approx(6.15)


def test_empty_bed():
    """Nothing to print takes no time."""
    assert batch_minutes([], PRINTER, PLA) == 0.0


SECONDS = st.lists(st.floats(1.0, 60.0), min_size=1, max_size=12)


@settings(deadline=None)  # the first call may compile
@given(st.lists(SECONDS, min_size=1, max_size=5), st.randoms(use_true_random=False))
def test_table_equals_plain_sum_in_any_order(rows, shuffle):
    """The compiled table gives the formula's plain sum, whatever the order of the pieces."""
    pieces = [piece(*row, reach=20.0 + 5.0 * k) for k, row in enumerate(rows)]
    order = list(range(len(pieces)))
    shuffle.shuffle(order)
    total = 0.0
    for i in range(max(map(len, rows))):
        there = [p for p in pieces if len(p.seconds) > i]
        layer = sum(p.seconds[i] for p in there)
        if len(there) > 1:
            distance = sum(p.reach_mm for p in there) / len(there)
            hop = distance / 100.0 + 0.1 + 0.5 if distance >= 10.0 else 0.0
            layer += (len(there) - 1) * (hop - 1.0)
        total += max(layer, 8.0)
    assert bed_table(pieces, PRINTER, PLA).minutes(order) == pytest.approx(6.0 + total / 60.0)


@given(st.lists(SECONDS, min_size=2, max_size=6))
def test_company_never_costs_more_than_beds_of_their_own(rows):
    """One bed is never slower than one bed for each piece when hops cost no more than heat-up."""
    pieces = [piece(*row) for row in rows]
    alone = sum(piece_alone_minutes(p, PRINTER, PLA) for p in pieces)
    assert batch_minutes(pieces, PRINTER, PLA) <= alone + 1e-9


def test_one_at_a_time_every_piece_waits_for_its_own_layers():
    """8 + 8 s and 8 + 8 + 9 s alone, and 1 s for the way between: 42 s after one heat-up."""
    single = dataclasses.replace(
        PRINTER, one_at_a_time=True, head_radius_mm=30.0, head_height_mm=20.0, gantry_height_mm=60.0
    )
    both = batch_minutes([piece(5, 5), piece(5, 5, 9)], single, PLA)
    assert both == pytest.approx(6.0 + 42.0 / 60.0)


def test_a_timed_printer_stretches_printing_and_nothing_else():
    """Two layers of 10 s and a hop of 1 s for 2 changes: 20 s; by 1.5 they are 30 s after 6 minutes.

    Waits of the least layer time and the way to a neighbour stretch as well; heating up does not.
    """
    slow = dataclasses.replace(PRINTER, minutes_factor=1.5)
    pair = [piece(5, 5), piece(5, 5)]
    assert batch_minutes(pair, PRINTER, PLA) == pytest.approx(6.0 + 20.0 / 60.0)
    assert batch_minutes(pair, slow, PLA) == pytest.approx(6.0 + 30.0 / 60.0)
    assert piece_alone_minutes(piece(3, 10, 5), slow, PLA) == pytest.approx(6.0 + 39.0 / 60.0)
    one = dataclasses.replace(
        PRINTER, one_at_a_time=True, head_radius_mm=30.0, head_height_mm=20.0, gantry_height_mm=30.0
    )
    plain = batch_minutes(pair, one, PLA) - 6.0
    assert batch_minutes(pair, dataclasses.replace(one, minutes_factor=0.8), PLA) == pytest.approx(
        6.0 + 0.8 * plain
    )
