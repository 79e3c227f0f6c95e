"""A short run of every campaign, and that its oracles tell what is wrong."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests import builders as build
from tests.campaign import mutate
from tests.campaign.command import folder_case, kill_case, whole

SEED = 1


@pytest.mark.slow
def test_meshes() -> None:
    """Nothing fails, and at least half of the meshes reach the estimate."""
    cases = [mutate.case(number, SEED) for number in range(300)]
    assert [case for case in cases if case.fault] == []
    assert sum(case.reached == "estimate" for case in cases) >= len(cases) / 2


@pytest.mark.slow
def test_folders_and_kills() -> None:
    """The whole command, a few times."""
    cases = [folder_case(number, SEED) for number in range(4)] + [kill_case(0, SEED)]
    assert [case for case in cases if case.fault] == []


def test_oracles_see_what_is_wrong(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A reader that loses a facet, one that fails, and a folder that is not whole."""
    assert "not whole" in whole(tmp_path)
    monkeypatch.setattr(mutate, "_read", lambda *_: 1 / 0)
    assert "ZeroDivisionError" in mutate.case(0, SEED).fault

    def grows(data: bytes, suffix: str) -> np.ndarray:
        del suffix
        return build.box(10.0, 10.0, 10.0 + len(data) % 7).triangles

    monkeypatch.setattr(mutate, "_read", grows)
    kinds = [mutate.case(number, SEED) for number in range(12)]
    assert any("became" in case.fault for case in kinds)
    told = _Told(1e9, 1.0, 1.0, (0.0, 0.0, 0.0))
    monkeypatch.setattr(mutate, "estimate_part", lambda *_: told)
    with pytest.raises(AssertionError, match="its box"):
        mutate._numbers(build.box(1.0, 1.0, 1.0).triangles)


class _Told:
    """Numbers of a deposit that cannot be."""

    def __init__(self, solid: float, mass: float, volume: float, centre: tuple[float, float, float]) -> None:
        self.solid_volume_mm3, self.mass_g, self.volume_mm3, self.centroid_mm = solid, mass, volume, centre
