"""A machine file read from its bytes: in pieces of one size, so that memory does not grow with the file."""

from __future__ import annotations

import io
import os
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.errors import RecordError
from planner.model.printer import Printer
from planner.readback import clock_kernel as clock
from planner.readback import laid_kernel as laid
from planner.readback import slots
from planner.readback.faults import LONG_LINE, MANY_CODES, SENTENCES
from planner.readback.layers import LayerFile
from planner.readback.moves_read import Fed, LaidMap, Levels, MovesRead, Spent
from planner.readback.words_kernel import LONGEST_LINE, read_bytes

Floats = NDArray[np.float64]
Unit = Literal["", "mm", "inch"]

PIECE_BYTES = 1 << 18
LARGEST_BYTES = 4_000_000_000
MOST_TOOLS = 16
CELLS = 900  # along each side of the map
LONGEST_H = 10_000.0
SHOWN = 32  # characters of a line in a message
_PACKED = (b"\x1f\x8b", b"PK\x03\x04", b"BZh", b"\xfd7zXZ", b"\x28\xb5\x2f\xfd", b"7z\xbc\xaf", b"Rar!")


@dataclass(frozen=True, slots=True)
class MachineOf:
    """What a printer has to do with the reading of its files: its motion, and how large its bed is."""

    accelerations_mm_s2: tuple[float, float, float]
    travel_speed_mm_s: float
    corner_deviation_mm: float
    retract_s: float
    widest_mm: float

    @classmethod
    def of(cls, printer: Printer) -> MachineOf:
        """That of a printer; on the first layer no bead is pulled harder than that layer allows."""
        motion = printer.motion
        first = min(motion.acceleration, motion.first_layer_acceleration or motion.acceleration)
        return cls(
            (motion.acceleration, first, motion.travel_acceleration),
            motion.travel_speed,
            motion.corner_deviation,
            motion.retract_s,
            max(printer.bed.width_mm, printer.bed.depth_mm),
        )


def read_moves(
    path: Path,
    machine: MachineOf,
    unit: Unit = "",
    piece_bytes: int = PIECE_BYTES,
    told: Callable[[int], None] | None = None,
    layers: LayerFile | None = None,
) -> MovesRead:
    """Read a machine file.

    Parameters
    ----------
    machine : whose motion model times the moves
    unit : of a file that tells none
    piece_bytes : how much of it is in memory at once
    told : hears how many bytes were read until now
    layers : takes every bead

    Raises
    ------
    RecordError
        naming the file, the line and what is wrong with it; where it cannot be opened, is no text, is packed,
        or changed while it was read
    """
    try:
        with path.open("rb") as file:
            before = os.fstat(file.fileno())
            _refuse_odd(path, before)
            found = _Reading(path, machine, unit, piece_bytes, layers).all_of(file, told)
            after = os.fstat(file.fileno())
        named = path.stat()
    except RecordError as error:  # whoever keeps it keeps no buffers of a hundred megabytes with it
        raise error.with_traceback(None) from None
    except OSError as error:
        raise RecordError(
            f"the machine file cannot be read ({error.strerror or error}).",
            where=str(path),
            next_step="Give the file that the printer is to run.",
        ) from error
    if len({_print_of(one) for one in (before, after, named)}) > 1 or found.size_bytes != before.st_size:
        raise RecordError(
            "the machine file changed while it was read.",
            where=str(path),
            next_step="Wait until it is whole, and read it again.",
        )
    return found


def _print_of(state: os.stat_result) -> tuple[int, int, int, int]:
    return state.st_dev, state.st_ino, state.st_size, state.st_mtime_ns


def _refuse_odd(path: Path, state: os.stat_result) -> None:
    if not stat.S_ISREG(state.st_mode):
        raise RecordError("it is no file.", where=str(path), next_step="Give a machine file.")
    if state.st_size > LARGEST_BYTES:
        raise RecordError(
            f"the machine file is larger than {LARGEST_BYTES} bytes.",
            where=str(path),
            next_step="Print the bed in two.",
        )


class _Reading:
    """The arrays that compiled code carries from one piece of a file to the next."""

    def __init__(
        self, path: Path, machine: MachineOf, unit: Unit, piece_bytes: int, layers: LayerFile | None = None
    ) -> None:
        self.path, self.layers = path, layers
        self.piece = np.empty(piece_bytes, dtype=np.uint8)
        self.n = np.zeros(slots.WHOLE, dtype=np.int64)
        self.n[slots.LINE], self.n[slots.MOTION], self.n[slots.PLANE] = 1, slots.NO_MOTION, 17
        self.n[slots.UNITS] = {"": slots.UNITS_NONE, "mm": slots.UNITS_MM, "inch": slots.UNITS_INCH}[unit]
        self.f = np.zeros(slots.REAL)
        self.f[slots.SCALE] = 25.4 if unit == "inch" else 1.0
        self.values = np.zeros(slots.LETTERS)
        self.codes = np.zeros((2, slots.MOST_CODES))
        self.moves = np.empty((piece_bytes // 2 + 2, slots.COLUMNS))
        self.machine = np.array(
            [
                *machine.accelerations_mm_s2,
                machine.travel_speed_mm_s,
                machine.corner_deviation_mm,
                machine.retract_s,
            ]
        )
        self.held = np.zeros((clock.LOOK_AHEAD, 4))
        self.limits2 = np.zeros(clock.LOOK_AHEAD + 1)
        self.clock = np.zeros(clock.CLOCK)
        self.clock[clock.LOWEST] = np.inf
        self.doing = np.zeros(2, dtype=np.int64)
        self.tools = np.zeros((MOST_TOOLS, 4))
        self.levels = np.zeros((laid.LEVELS, 3))
        self.beads = np.empty((laid.MOST_BEADS, 6))
        self.all = np.zeros(laid.OF_ALL)
        self.all[laid.BOX : laid.BOX + 2] = np.inf
        self.all[laid.BOX + 2 : laid.BOX + 4] = -np.inf
        self.all[laid.CLIMB_LOW], self.all[laid.BEFORE_CLOSED] = np.inf, -1.0
        self.all[laid.LAST_X] = np.nan
        self.kept = np.zeros(1, dtype=np.int64)
        # from half a bed below nought, where a machine may count from the middle of its bed
        self.low = -0.6 * machine.widest_mm - 20.0
        self.cell = max(1.0, (1.7 * machine.widest_mm + 60.0) / CELLS)
        across = int(np.ceil((1.7 * machine.widest_mm + 60.0) / self.cell))
        self.map = np.zeros((across, across))

    def all_of(self, file: io.BufferedReader, told: Callable[[int], None] | None = None) -> MovesRead:
        """Read to the end."""
        size = 0
        for count, last in self._pieces(file):
            if size == 0:
                self._refuse_packed(count)
            size += count
            good = read_bytes(self.piece, count, last, self.n, self.f, self.values, self.codes, self.moves)
            if not good:
                self._refuse(count)
            self._count()
            if told is not None:
                told(size)
        clock.stop(self.held, self.limits2, self.clock, self.doing)
        return self._found(size)

    def _pieces(self, file: io.BufferedReader) -> Iterator[tuple[int, bool]]:
        """Bytes of each piece, and whether it is the last one."""
        whole = self.piece.data
        while True:
            count = 0
            while count < len(whole):
                got = file.readinto(whole[count:])
                if not got:
                    break
                count += got
            yield count, count < len(whole)
            if count < len(whole):
                return

    def _refuse_packed(self, count: int) -> None:
        head = bytes(self.piece[: min(count, 8)])
        if head.startswith(_PACKED):
            raise RecordError(
                "line 1: it is packed, and no text.",
                where=str(self.path),
                next_step="Unpack it, and give the machine file in it.",
            )
        if head.startswith(b"\xef\xbb\xbf"):  # the mark of a text in UTF-8
            self.piece[:3] = ord(" ")

    def _count(self) -> None:
        rows = int(self.n[slots.ROWS])
        high = laid.summed(
            self.moves, rows, self.map, self.cell, self.low, self.tools, self.levels, self.beads, self.all,
            self.kept,
        )  # fmt: skip
        if high >= 0:
            row = self.moves[high]
            raise RecordError(
                f"line {int(row[slots.ROW_LINE])}: it lays filament at Z = {row[slots.Z1]:g} mm, where no"
                " machine reaches.",
                where=str(self.path),
                next_step="Mend the word Z.",
            )
        if self.layers is not None:
            self.layers.add(self.moves, rows)
        clock.clocked(self.moves, rows, self.machine, self.held, self.limits2, self.clock, self.doing)

    def _refuse(self, count: int) -> None:
        n = self.n
        begin = int(n[slots.LINE_FROM])
        line = bytes(self.piece[begin : min(count, begin + 4 * SHOWN)]).split(b"\n")[0]
        shown = "".join(c if c.isprintable() else "?" for c in line.decode("ascii", "replace").strip())
        shown = shown if len(shown) <= SHOWN else shown[: SHOWN - 1] + "…"
        what, then = SENTENCES[int(n[slots.FAULT])]
        limit = {LONG_LINE: LONGEST_LINE, MANY_CODES: slots.MOST_CODES}.get(int(n[slots.FAULT]), 0)
        value = f"{self.f[slots.FAULT_VALUE]:.6g}"
        word = chr(ord("A") + int(n[slots.FAULT_LETTER]))
        raise RecordError(
            f"line {int(n[slots.FAULT_LINE])} ({shown}): {what.format(word=word, value=value, limit=limit)}",
            where=str(self.path),
            next_step=then,
        )

    def _found(self, size: int) -> MovesRead:
        spent = Spent(*(float(self.clock[k]) for k in (clock.LAY_S, clock.GO_S, clock.PULL_S, clock.WAIT_S)))
        if not spent.total_s <= LONGEST_H * 3600.0:
            raise RecordError(
                f"its moves last longer than {LONGEST_H:g} hours.",
                where=str(self.path),
                next_step="Look at its lengths and feeds.",
            )
        some = np.flatnonzero(self.levels[:, laid.LEVEL_FED] > 0.0)
        rows = self.levels[some]
        box = self.all[laid.BOX : laid.BOX + 4]
        before = float(self.all[laid.BEFORE_CLOSED])
        climbed = float(self.all[laid.CLIMBED])
        laid_some = bool(np.isfinite(box).all())
        return MovesRead(
            name=self.path.name,
            lines=int(self.n[slots.LINE]) - 1,
            size_bytes=size,
            fed=tuple(self._fed(tool) for tool in range(MOST_TOOLS) if self.tools[tool].any()),
            spent=spent,
            box_mm=(float(box[0]), float(box[1]), float(box[2]), float(box[3])) if laid_some else None,
            top_mm=float(self.all[laid.TOP]),
            levels=Levels(
                rows[:, laid.LEVEL_Z] / rows[:, laid.LEVEL_FED],
                rows[:, laid.LEVEL_FED].copy(),
                rows[:, laid.LEVEL_MM].copy(),
            ),
            laid=LaidMap(self.map, self.cell, self.low),
            beads=self.beads[: int(self.kept[0])].copy(),
            before_closed_mm=max(0.0, before),
            climbed_mm=climbed,
            climbs_mm=(
                float(self.all[laid.CLIMB_LOW]) if climbed else 0.0,
                float(self.all[laid.CLIMB_HIGH]),
            ),
            off_map_mm=float(self.all[laid.OFF_MAP]),
            nozzle_c=float(self.f[slots.HOT_NOZZLE]),
            bed_c=float(self.f[slots.HOT_BED]),
            changes=int(self.n[slots.CHANGES]),
            unread=int(self.n[slots.UNREAD]),
            path_mm=float(self.clock[clock.LAY_MM]),
            travel_mm=float(self.clock[clock.GO_MM]),
        )

    def _fed(self, tool: int) -> Fed:
        """Of one filament: what was pushed out first and pulled back last was in the machine all the time."""
        row = self.tools[tool]
        pushed = max(0.0, float(row[laid.PUSHED] - row[laid.PULLED]))
        return Fed(tool, float(row[laid.LAID]), pushed, float(row[laid.NET]))
