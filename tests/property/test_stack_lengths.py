"""A stack is as long as its bodies: pins and sockets add nothing, whatever stands on what."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.airframe import StackPlace
from planner.model.part import pieces_of
from planner.pipeline.overlapping import overlapping
from planner.pipeline.seated import contacts
from planner.weights.stations import stack_starts
from tests.stacked import random_row, stacked_deposits, stacked_job

NEAR_MM = 2e-3  # meshes of solids come in single precision


@settings(max_examples=40, deadline=None)
@given(
    st.integers(0, 2**32 - 1),
    st.sampled_from(["panel", "tube", "block"]),
    st.sampled_from(["aft", "forward", "across"]),
    st.sampled_from(["none", "left", "right"]),
    st.booleans(),
)
def test_a_stack_is_as_long_as_its_bodies(seed, kind, direction, hand, mirror):
    """Every part begins where the bodies before it end, and its face lies on the one before."""
    row = random_row(np.random.default_rng(seed), kind)
    job = overlapping(stacked_job(row, StackPlace("s", direction=direction), hand, mirror=mirror))
    parts, deposits = job.airframe.parts, stacked_deposits(job)
    starts = stack_starts(job.airframe, parts, deposits)
    # a part whose pins reach back begins with them
    lows = [-float(mesh.bounds[0, 2]) for mesh in row.meshes]
    joints = [starts[part.name] + low for part, low in zip(parts, lows, strict=True)]
    assert joints == pytest.approx([sum(row.bodies[:n]) for n in range(len(parts))], abs=NEAR_MM)
    assert not job.findings
    pieces = [piece for part in parts for piece in pieces_of(part) if not piece.mirrored]
    met = {frozenset(c.pieces) for c in contacts(job, job.airframe, parts, deposits, pieces)}
    names = [piece.name for piece in pieces]
    assert all(frozenset(pair) in met for pair in pairwise(names))
