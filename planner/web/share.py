"""How much of a piece of work is done, and how long the rest may take."""

from __future__ import annotations

from collections.abc import Mapping

from planner.model.effort import EFFORTS

# Seconds of each stage on the demo, measured on two processors; only their relation counts.
_BEFORE, _BEHIND = {"read meshes": 2.0, "estimate": 4.0}, {"mass and cost": 0.2, "report": 6.0}
PLAN: Mapping[str, Mapping[str, float]] = {
    effort.name: {**_BEFORE, "beds and schedule": effort.demo_seconds, **_BEHIND} for effort in EFFORTS
}
RECKONING = {"read meshes": 2.0, "estimate": 4.0, "beds and schedule": 5.0, "mass and cost": 0.2}
EARLY = 0.08  # before so much is done nothing is said of the time left
SOON_S = 2.0


class Share:
    """Follows the stages of one piece of work; the share never falls.

    Parameters
    ----------
    weights : stages in their order, each with what it takes in relation to the others
    """

    def __init__(self, weights: Mapping[str, float]) -> None:
        self._weights = dict(weights)
        self._all = sum(self._weights.values())
        self.value = 0.0

    def told(self, stage: str, done: int, total: int) -> float:
        """Share from 0 to 1 after so much of a stage; a stage that is not known changes nothing."""
        name = stage.partition(":")[0]
        if name in self._weights:
            before = 0.0
            for known, weight in self._weights.items():
                if known == name:
                    break
                before += weight
            part = min(1.0, done / total) if total > 0 else 0.0
            self.value = max(self.value, (before + self._weights[name] * part) / self._all)
        return self.value


def left_s(share: float, seconds: float) -> float | None:
    """Seconds left if the rest goes as the work until now; nothing where that would be a guess."""
    if share < EARLY or seconds < SOON_S:
        return None
    return seconds * (1.0 - share) / share
