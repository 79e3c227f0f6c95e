"""Which side of the airframe a part is for."""

from __future__ import annotations

from typing import Literal

Hand = Literal["left", "right", "none"]
HANDS: tuple[str, ...] = ("left", "right", "none")
