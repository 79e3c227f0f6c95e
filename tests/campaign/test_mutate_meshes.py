"""What the judge of changed meshes lets pass."""

from __future__ import annotations

import pytest

from tests.campaign.mutate_meshes import mass_apart


def test_a_quarter_of_a_gram_may_be_off_by_a_millimetre_of_bead_on_each_layer() -> None:
    """By hand: 49 layers of 0.2 mm, 0.45 mm wide, 1.24 g/cm³ = 0.0054684 g; a hundredth would be 0.0023 g."""
    assert mass_apart("turn", 0.2274, 9.66) == pytest.approx(0.0054684)


def test_a_heavier_part_may_be_off_by_a_hundredth() -> None:
    """Where lines fall elsewhere, or a layer more is reached; else to rounding."""
    assert mass_apart("twice", 3.0, 9.66) == pytest.approx(0.03)
    assert mass_apart("unit", 3.0, 9.66) == pytest.approx(0.03)
    assert mass_apart("order", 3.0, 9.66) == pytest.approx(3e-6)
