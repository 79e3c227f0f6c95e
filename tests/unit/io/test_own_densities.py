"""A filament's own solid density counts: in what is deposited, in the mass of a piece, in its metres."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import RecordError
from planner.io.records.builtin import builtin_filaments, builtin_printers
from planner.io.records.workshop_record import read_workshop
from planner.io.toml_file import parse_toml
from planner.model.filament import Filament


def filament(text: str, name: str) -> Filament:
    file = parse_toml(f"[[filament]]\nname = {name!r}\n{text}\n", "workshop.toml")
    return read_workshop(file, builtin_printers(), builtin_filaments()).filament(name)


def refusal(text: str, name: str = "own") -> str:
    with pytest.raises(RecordError) as caught:
        filament(text, name)
    return str(caught.value)


def test_a_known_name_with_a_density_of_its_own_weighs_by_it() -> None:
    """PLA at twice its density lays twice the grams into the same bead."""
    own = filament("solid_g_per_cm3 = 2.48", "PLA")
    assert (own.solid_g_per_cm3, own.deposited_g_per_cm3, own.flow_fraction) == (2.48, 2.48, 1.0)


def test_a_plain_filament_like_another_weighs_by_its_own_density() -> None:
    """Like ABS (1.04) at 1.10 g/cm3: a bead holds 1.10."""
    own = filament('like = "ABS"\nsolid_g_per_cm3 = 1.10', "house ABS")
    assert own.deposited_g_per_cm3 == 1.10


def test_a_foaming_filament_scales_with_its_solid_density() -> None:
    """1.21 to 1.331 is a tenth more, and so is the foam at every temperature: 0.54 becomes 0.594."""
    own = filament('like = "foaming PLA"\nsolid_g_per_cm3 = 1.331', "own foam")
    assert own.deposited_g_per_cm3 == pytest.approx(0.594)
    assert own.foamed_g_per_cm3(230.0) == pytest.approx(0.715)
    assert own.flow_fraction == pytest.approx(0.54 / 1.21)


def test_a_hotter_nozzle_and_an_own_density_hold_together() -> None:
    """At 230 C the curve says 0.65 for 1.21: 0.715 for a tenth more."""
    own = filament('like = "foaming PLA"\nsolid_g_per_cm3 = 1.331\nnozzle_c = 230', "own foam")
    assert own.deposited_g_per_cm3 == pytest.approx(0.715)


def test_what_is_told_of_the_bed_holds() -> None:
    """A weighed test piece says more than any rule."""
    own = filament('like = "foaming PLA"\nsolid_g_per_cm3 = 1.30\ndeposited_g_per_cm3 = 0.61', "own foam")
    assert own.deposited_g_per_cm3 == 0.61


@settings(deadline=None, derandomize=True)
@given(st.sampled_from(sorted(builtin_filaments())), st.floats(0.2, 20.0))
def test_no_own_density_is_refused_by_a_rounding(name: str, solid: float) -> None:
    """Whatever filament it is like: never more on the bed than on the spool, and the same flow."""
    base = builtin_filaments()[name]
    own = filament(f"like = {name!r}\nsolid_g_per_cm3 = {solid!r}", "own")
    assert own.deposited_g_per_cm3 <= solid
    assert own.flow_fraction == pytest.approx(base.flow_fraction)


def test_more_on_the_bed_than_on_the_spool_is_refused() -> None:
    """Nonsense is named with both numbers."""
    told = refusal('like = "PLA"\ndeposited_g_per_cm3 = 1.4')
    assert "deposited_g_per_cm3 = 1.4 is above solid_g_per_cm3 = 1.24" in told
    assert "line" in told or "workshop.toml:" in told


def test_a_foaming_filament_says_how_far_it_foams() -> None:
    """Without a density on the bed or a curve it would silently weigh like a plain one."""
    told = refusal('material = "m"\nsolid_g_per_cm3 = 1.2\nfoaming = true')
    assert "foams, and nothing says how far" in told
    row = 'material = "m"\nsolid_g_per_cm3 = 1.2\nfoaming = true\nnozzle_c = 220\n'
    own = filament(row + "foam_curve = [[210, 1.0], [230, 0.6]]", "own")
    assert own.deposited_g_per_cm3 == pytest.approx(0.8)
