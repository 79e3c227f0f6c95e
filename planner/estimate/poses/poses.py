"""Which way a part stands on the bed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.support import BUILT
from planner.estimate.poses.pose_cost import Standing, fit_on, one_face, standing
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import UPRIGHT, Pose
from planner.geometry.mesh.resting import (
    Facets,
    facets,
    foot,
    outermost,
    plane,
    pose_down,
    resting_feet,
    widths,
)
from planner.geometry.remembered import Plain, Remembered, Shelf
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion, Printer
from planner.units import SECONDS_PER_MINUTE

Vector = NDArray[np.float64]

WORTH_TURNING = 0.95  # a turned part must cost at most this share of the modelled pose (our choice)
MOST_RECKONED = 2  # poses besides the modelled one that are reckoned in full
NEAR_BEST = 1.4  # and cost at most so many times what the best one seems to
_ANY = Filament("any", "any", 1.24, 1.24)  # poses are ranked alike in every one
_TURNS_DEG = np.arange(0.0, 90.0, 1.0)


@dataclass(frozen=True, slots=True)
class PoseChoice:
    """The pose of a part, why, and what was compared (the modelled pose first)."""

    pose: Pose
    reason: str
    compared: tuple[Standing, ...] = ()


_CHOICES: Remembered[PoseChoice] = Remembered(
    4096, Plain("poses", asdict, lambda held: PoseChoice(_pose(held), held["reason"], _compared(held)))
)


def _compared(held: Mapping[str, Any]) -> tuple[Standing, ...]:
    return tuple(Standing(**{**one, "pose": _pose(one)}) for one in held["compared"])


def _pose(held: Mapping[str, Any]) -> Pose:
    return Pose(tuple(held["pose"]["rotation"]))


def choose_pose(
    mesh: TriangleMesh, part: Part, printers: Sequence[Printer], shelf: Shelf | None = None
) -> PoseChoice:
    """The modelled pose, unless it fits no bed or the part may turn and stands better otherwise.

    Candidates are the flat faces on which the part rests without tipping, and the modelled pose.
    They are weighed by support, minutes, bed area and slenderness (see `Standing.cost`). Where the
    printer builds support, the few that come out best and the modelled pose are reckoned in full: how
    much a column takes hangs on its walls, on what it stands on and on where it may stand.

    Assumes: beds are their usable rectangle or circle; keep-outs and neighbours are the
    arranger's business. Without support minutes are a proxy that ranks poses and not the minutes of
    the plan; all filaments rank them alike.
    """
    return _CHOICES.of((mesh.digest, part, tuple(printers)), lambda: _chosen(mesh, part, printers), shelf)


def _chosen(mesh: TriangleMesh, part: Part, printers: Sequence[Printer]) -> PoseChoice:
    if not part.may_turn and _modelled_fits(mesh, part, printers):
        return PoseChoice(part.pose, "as modelled")
    body = facets(mesh)
    modelled = _modelled(body, part, printers)
    others = [_best_turn(body, f.down, part, printers) for f in resting_feet(body)]
    others = [o for o in others if not _same_down(o.pose, part.pose)]
    if part.recipe.support in BUILT and any(s.support_mm3 > 0.0 for s in (modelled, *others)):
        modelled, *others = _reckoned(mesh, part, (modelled, *others), printers)
    compared = (modelled, *others)
    fitting = [s for s in others if s.fits and s.laid_mm3 is not None] or [s for s in others if s.fits]
    if not fitting:
        reason = "as modelled" if modelled.fits else "as modelled; no flat face of it makes it fit a bed"
        return PoseChoice(part.pose, reason, compared)
    best = min(fitting, key=lambda s: (round(s.cost, 6), s.pose.rotation))
    if modelled.fits and best.cost > WORTH_TURNING * modelled.cost:
        return PoseChoice(part.pose, "as modelled; no other way to stand is clearly better", compared)
    return PoseChoice(best.pose, _reason(best, modelled), compared)


def _reckoned(
    mesh: TriangleMesh, part: Part, poses: Sequence[Standing], printers: Sequence[Printer]
) -> list[Standing]:
    """The poses, modelled first, those that may win with the support and minutes of an estimate.

    Where one of them wins by far, none is reckoned.
    """
    modelled = poses[0]
    able = sorted((s for s in poses[1:] if s.fits), key=lambda s: (s.cost, s.pose.rotation))[:MOST_RECKONED]
    near = [s for s in able if s.cost <= NEAR_BEST * able[0].cost]
    if not near or (len(near) == 1 and modelled.fits and modelled.cost > NEAR_BEST * near[0].cost):
        return list(poses)
    chosen = {s.pose for s in near} | {modelled.pose}
    motion = printers[0].motion if printers else Motion()
    return [_in_full(mesh, part, s, motion) if s.pose in chosen else s for s in poses]


def _in_full(mesh: TriangleMesh, part: Part, one: Standing, motion: Motion) -> Standing:
    from planner.estimate.part import estimate_part

    made = estimate_part(mesh, replace(part, pose=one.pose), _ANY, {"": motion})
    minutes = float(made.seconds[""].sum()) / SECONDS_PER_MINUTE
    return replace(one, minutes=minutes, laid_mm3=made.support_mm3)


def _modelled_fits(mesh: TriangleMesh, part: Part, printers: Sequence[Printer]) -> bool:
    """Whether the part fits as it stands, without looking at its facets."""
    corners = mesh.triangles.reshape(-1, 3)
    turned = corners if part.pose == UPRIGHT else corners @ part.pose.matrix.T
    low, high = mesh.bounds if part.pose == UPRIGHT else (turned.min(axis=0), turned.max(axis=0))
    height = float(high[2] - low[2])
    box = np.array([low[:2], [high[0], low[1]], high[:2], [low[0], high[1]]])
    if any(fit_on(p, box, height, part.recipe.brim_mm)[0] for p in printers):
        return True
    rim = outermost(turned[:, :2])
    return any(fit_on(p, rim, height, part.recipe.brim_mm)[0] for p in printers)


def _modelled(body: Facets, part: Part, printers: Sequence[Printer]) -> Standing:
    down = -part.pose.matrix[2]
    rim = outermost(body.corners @ part.pose.matrix[:2].T)
    return standing(body, foot(body, down), part.pose, rim, part.recipe, printers)


def _best_turn(body: Facets, down: Vector, part: Part, printers: Sequence[Printer]) -> Standing:
    """The part on this face, turned so that its bounding rectangle is smallest."""
    rim = outermost(body.corners @ plane(down).T)
    area = widths(rim, _TURNS_DEG).prod(axis=1)
    # no turn is better than one for the sake of a percent
    turn = 0.0 if area[0] <= 1.01 * area.min() else float(_TURNS_DEG[int(area.argmin())])
    pose = pose_down(down, turn)
    turned_rim = rim @ plane(down) @ pose.matrix[:2].T
    return standing(body, foot(body, down), pose, turned_rim, part.recipe, printers)


def _same_down(one: Pose, other: Pose) -> bool:
    return one_face(float(one.matrix[2] @ other.matrix[2]))


def _reason(best: Standing, modelled: Standing) -> str:
    """One sentence: what it stands on, and what is gained."""
    gains = []
    if not modelled.fits:
        gains.append(f"as modelled it fits no bed ({modelled.missing})")
    if best.laid_mm3 is not None and modelled.laid_mm3 is not None:
        if best.laid_mm3 < 0.9 * modelled.laid_mm3:
            gains.append(f"{100.0 * (1.0 - best.laid_mm3 / modelled.laid_mm3):.0f} % less support")
    elif best.support_mm3 < 0.9 * modelled.support_mm3:
        share = 100.0 * (1.0 - best.support_mm3 / modelled.support_mm3)
        gains.append(f"{share:.0f} % less under steep overhangs")
    if abs(best.height_mm - modelled.height_mm) >= 1.0:
        word = "lower" if best.height_mm < modelled.height_mm else "taller"
        gains.append(f"{abs(best.height_mm - modelled.height_mm):.0f} mm {word}")
    if best.minutes < 0.95 * modelled.minutes:
        gains.append(f"about {100.0 * (1.0 - best.minutes / modelled.minutes):.0f} % quicker")
    if best.foot_mm2 > 1.2 * modelled.foot_mm2:
        gains.append("a larger foot")
    what = f"turned to stand on a flat face of {best.foot_mm2 / 100.0:.1f} cm²"
    return f"{what}: {', '.join(gains)}" if gains else what
