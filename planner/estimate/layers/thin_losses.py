"""What matters of walls that are not printed: a hole in a skin, an island let loose, an end face."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.layers import LayerPlan
from planner.estimate.layers.walk import Walk
from planner.geometry.planar.polygon import Region
from planner.geometry.sections.section import Sections
from planner.model.recipe import Recipe

Index = NDArray[np.int64]

LASTING = 3  # layers one above the other: fewer are bridged by those around them (our choice)
TORN_RUN_MM = 4.0  # outline lost on one layer, both sides together: narrower holes close
TORN_MM2 = 0.05  # lost on one layer: tight corners alone lose less
MOST_LOOKS = 12  # layers looked at closely: half of them where most is lost, half evenly between
FACE_MM2 = 4.0  # smaller faces join nothing
FACE_SHARE = 0.1  # of a face: glue holds on the rest (our choice)
_LEVEL_MM = 0.02  # facets of a face lie as level as that


def losses(cut: Sections, walked: Walk, plan: LayerPlan, recipe: Recipe) -> list[str]:
    """What is lost that matters, in words; empty where nothing is."""
    look = _Looks(cut, walked, 0.5 * recipe.least_bead_width_mm)
    told = []
    torn = look.first(look.torn)
    if torn is not None:
        told.append(f"it leaves a hole in the skin at {plan.mid_mm[torn]:.1f} mm")
    loose = look.first(look.loose)
    if loose is not None:
        told.append(f"what stands above {plan.top_mm[loose]:.1f} mm is left hanging in the air")
    return told + _faces(cut, walked)


class _Looks:
    """Close looks at the layers that lose some wall."""

    def __init__(self, cut: Sections, walked: Walk, narrow_mm: float) -> None:
        from planner.geometry.sections.band_kernel import THIN, THIN_LENGTH

        self.cut, self.walked, self.narrow = cut, walked, narrow_mm
        lost = (walked.table[:, THIN_LENGTH] > TORN_RUN_MM) & (walked.table[:, THIN] > TORN_MM2)
        lost &= ~cut.torn[walked.layers]
        self.levels: list[int] = walked.layers[_chosen(walked.table[:, THIN_LENGTH], lost)].tolist()
        self.kept: dict[int, tuple[Region, Region]] = {}

    def region(self, level: int) -> tuple[Region, Region]:
        """The section of a layer and its core; cut anew only where it was not walked."""
        from planner.geometry.planar.regions import regions_of
        from planner.geometry.planar.tears import cores_of

        like = self.cut.like
        if like[level] not in self.kept:
            first = self.levels if not self.kept else [level]  # those that are looked at in any case at once
            new = np.unique(np.concatenate([like[first], like[level : level + 1]]))
            rings = self.walked.sections_of(self.cut, new)
            regions = regions_of(rings.points, rings.starts, rings.plane, 0.0)
            pairs = zip(regions, cores_of(regions, self.narrow), strict=True)
            self.kept.update(zip(new.tolist(), pairs, strict=True))
        return self.kept[int(like[level])]

    def first(self, test: Callable[[int], bool]) -> int | None:
        """The lowest looked-at layer that fails, together with enough layers round it."""
        n = len(self.cut.mids)
        for level in self.levels:
            if not test(level):
                continue
            row = 1
            for step in (-1, 1):
                at = level + step
                while row < LASTING and 0 <= at < n and test(at):
                    row, at = row + 1, at + step
            if row >= LASTING:
                return level
        return None

    def torn(self, level: int) -> bool:
        """Whether the section falls open or apart."""
        from planner.geometry.planar.tears import is_torn

        return is_torn(*self.region(level), self.narrow)

    def loose(self, level: int) -> bool:
        """Whether something higher up stands on nothing but walls of this layer that are lost."""
        from planner.geometry.planar.tears import lost_below, some_lost

        if not some_lost(*self.region(level)):
            return False
        above = (self.region(at)[0] for at in self._above(level))
        return any(lost_below(upper, *self.region(level), self.narrow) for upper in above)

    def _above(self, level: int) -> list[int]:
        """The next walked layer above, and the one after the next few."""
        after = self.walked.layers[self.walked.layers > level]
        near = min(level + LASTING, len(self.cut.mids) - 1)
        return sorted({near, int(after[0])} - {level}) if len(after) else []


def _chosen(run: NDArray[np.float64], lost: NDArray[np.bool_]) -> Index:
    """Which of the layers that lose some wall are looked at, rising."""
    at = np.flatnonzero(lost).astype(np.int64)
    if len(at) <= MOST_LOOKS:
        return at
    half = MOST_LOOKS // 2
    most = at[np.argsort(-run[at], kind="stable")[:half]]
    return np.union1d(most, at[np.linspace(0, len(at) - 1, half).astype(np.int64)])


def _faces(cut: Sections, walked: Walk) -> list[str]:
    """Level end faces of the standing part of which too much is not printed."""
    from planner.geometry.sections.band_kernel import THIN

    told = []
    for q, words in ((0, "it stands on"), (len(walked.layers) - 1, "it ends with")):
        lost = float(walked.table[q, THIN])
        if lost <= FACE_SHARE * FACE_MM2:
            continue
        face = _face_mm2(cut, top=q > 0)
        if face >= FACE_MM2 and lost > FACE_SHARE * face:
            told.append(f"it is {min(100.0, 100.0 * lost / face):.0f} % of the face that {words}")
    return told


def _face_mm2(cut: Sections, *, top: bool) -> float:
    """Area of the level facets at the upper or lower end."""
    heights = cut.mesh.triangles[:, :, 2]
    level = cut.mesh.bounds[1 if top else 0][2]
    own = cut.mesh.triangles[(np.abs(heights - level) <= _LEVEL_MM).all(axis=1), :, :2]
    (ux, uy), (vx, vy) = (own[:, 1] - own[:, 0]).T, (own[:, 2] - own[:, 0]).T
    return float(0.5 * np.abs(ux * vy - uy * vx).sum())
