"""Words of moves from beads, with the sums that a reader must find; it shares nothing with the reader."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from tests.toolpaths.seconds import Machine, move, stroke_seconds
from tests.toolpaths.settings import LayerPath, Stroke

Points = NDArray[np.float64]


@dataclass(frozen=True)
class Style:
    """How the same moves are written."""

    relative: bool = False
    relative_fed: bool = True
    inch: bool = False
    retract_mm: float = 0.8
    retract_mm_s: float = 35.0
    small: bool = False
    numbers: bool = False
    packed: bool = False
    remarks: bool = False
    temperatures: tuple[float, float] | None = (210.0, 60.0)
    at: tuple[float, float] = (0.0, 0.0)


@dataclass
class Writer:
    """Write beads; keep their volumes, seconds, heights and box."""

    style: Style = field(default_factory=Style)
    machine: Machine = field(default_factory=Machine)
    diameter_mm: float = 1.75
    lines: list[str] = field(default_factory=list)
    volume_mm3: float = 0.0
    by_tool: dict[int, float] = field(default_factory=dict)
    seconds: float = 0.0
    tops: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.here = np.zeros(2)
        self.z = 0.0
        self.fed = 0.0
        self.tool = 0
        self.first = True
        unit = "G20" if self.style.inch else "G21"
        self.out(unit, "G90", "G17")
        if self.style.temperatures:
            nozzle, bed = self.style.temperatures
            self.out(f"M104 S{nozzle:g}")
            self.out(f"M190 S{bed:g}")
        self.out("G28")
        self.out("M83" if self.style.relative_fed else "M82")
        x, y = self.style.at
        self.out("G0", *self._axes(0.0 + x, 0.0 + y), self._word("Z", 0.0))
        if self.style.relative:
            self.out("G91")

    @property
    def text(self) -> str:
        return "\n".join(self.lines) + "\n"

    def out(self, *words: str) -> None:
        line = ("" if self.style.packed else " ").join(words)
        line = line.lower() if self.style.small else line
        if self.style.numbers:
            line = f"N{10 * len(self.lines) + 10} {line}"
        if self.style.remarks and len(self.lines) % 3 == 0:
            line += " (X999 E999) ; G1 X999 E999"
        self.lines.append(line)

    def _word(self, letter: str, mm: float) -> str:
        digits = 7 if self.style.inch else 5
        text = f"{mm / 25.4 if self.style.inch else mm:.{digits}f}".rstrip("0").rstrip(".")
        return letter + ("0" if text in ("-0", "") else text)

    def _axes(self, x: float, y: float) -> tuple[str, str]:
        return self._word("X", x), self._word("Y", y)

    def _to(self, point: Points) -> tuple[str, str]:
        if self.style.relative:
            return self._axes(*(point - self.here))
        return self._axes(*(point + np.array(self.style.at)))

    def _feed(self, mm_s: float) -> str:
        return self._word("F", 60.0 * mm_s)

    def _e(self, mm: float) -> str:
        self.fed += mm
        rel = self.style.relative or self.style.relative_fed
        return self._word("E", mm if rel else self.fed)

    @property
    def _most(self) -> float:
        return self.machine.first if self.first else math.inf

    def fed_mm(self, mm3: float) -> float:
        return mm3 / (math.pi * self.diameter_mm**2 / 4.0)

    def pull(self, mm: float) -> None:
        """Pull back, or push with a negative length."""
        if mm:
            self.out("G1", self._e(-mm), self._feed(self.style.retract_mm_s))
            self.seconds += move(abs(mm), self.style.retract_mm_s, self.machine.acceleration[""])

    def go(self, point: Points) -> None:
        """Go there without laying, pulled back on the way."""
        length = float(np.hypot(*(point - self.here)))
        if length < 1e-6:
            return
        self.pull(self.style.retract_mm)
        self.out("G0", *self._to(point), self._feed(self.machine.travel))
        self.seconds += move(length, self.machine.travel, self.machine.travel_acceleration)
        self.here = np.array(point, dtype=np.float64)
        self.pull(-self.style.retract_mm)

    def rise(self, z: float) -> None:
        """Go to a height; the pull that follows brings the machine to rest."""
        told = z - self.z if self.style.relative else z
        self.out("G0", self._word("Z", told), self._feed(10.0))
        self.seconds += move(abs(z - self.z), 10.0, self.machine.travel_acceleration)
        self.z = z
        self.pull(0.1)
        self.pull(-0.1)

    def use(self, tool: int) -> None:
        self.tool = tool
        self.out(f"T{tool}")

    def _count(self, mm3: float) -> None:
        self.volume_mm3 += mm3
        self.by_tool[self.tool] = self.by_tool.get(self.tool, 0.0) + mm3

    def lay(self, stroke: Stroke) -> None:
        """Lay a bead from where it begins to where it ends."""
        self.go(stroke.points[0])
        kind = self.machine.speed.get(stroke.kind, self.machine.speed[""])
        speed = min(kind, self._most, self.machine.flow / max(stroke.mm2, 1e-9))
        self.out("G1", self._feed(speed))
        for point in stroke.points[1:]:
            length = float(np.hypot(*(point - self.here)))
            if length < 1e-6:
                continue
            self.out("G1", *self._to(point), self._e(self.fed_mm(stroke.mm2 * length)))
            self.here = np.array(point, dtype=np.float64)
        slow = replace(
            self.machine,
            acceleration={
                k: min(a, self.machine.first_acceleration if self.first else math.inf)
                for k, a in self.machine.acceleration.items()
            },
        )
        self.seconds += stroke_seconds(stroke, slow, self._most)
        self._count(stroke.volume)

    def arc(self, centre: Points, sweep: float, mm2: float, speed: float, *, by_radius: bool = False) -> None:
        """Lay an arc from where the machine is, the left way round where ``sweep`` is above 0."""
        spoke = self.here - centre
        c, s = math.cos(sweep), math.sin(sweep)
        whole = abs(abs(sweep) - 2.0 * math.pi) < 1e-12
        end = (
            self.here
            if whole
            else centre + np.array([c * spoke[0] - s * spoke[1], s * spoke[0] + c * spoke[1]])
        )
        radius = float(np.hypot(*spoke))
        length = radius * abs(sweep)
        words = [] if whole else [*self._to(end)]
        if by_radius:
            words.append(self._word("R", radius if abs(sweep) <= math.pi else -radius))
        else:
            words += [self._word("I", -spoke[0]), self._word("J", -spoke[1])]
        self.out("G3" if sweep > 0 else "G2", *words, self._e(self.fed_mm(mm2 * length)), self._feed(speed))
        pull = self.machine.acceleration[""]
        self.seconds += move(length, min(speed, math.sqrt(pull * radius)), pull)
        self.here = np.array(end, dtype=np.float64)
        self._count(mm2 * length)

    def layers(self, layers: list[LayerPath], at: tuple[float, float] = (0.0, 0.0)) -> None:
        """Lay all layers of a piece whose corner lies there."""
        for n, layer in enumerate(layers):
            self.first = n == 0
            self.layer(layer, at)

    def layer(self, layer: LayerPath, at: tuple[float, float] = (0.0, 0.0)) -> None:
        self.rise(layer.top)
        self.tops.append(layer.top)
        for stroke in layer.strokes:
            self.lay(replace(stroke, points=stroke.points + np.array(at)))


def side_by_side(writer: Writer, pieces: list[tuple[list[LayerPath], tuple[float, float]]]) -> None:
    """Pieces that grow together: layer by layer, one after the other on each."""
    for n in range(max(len(layers) for layers, _ in pieces)):
        writer.first = n == 0
        for layers, at in pieces:
            if n < len(layers):
                writer.layer(layers[n], at)
