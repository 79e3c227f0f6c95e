"""Every bed of a plan as a 3MF package and as one STL: each piece where the bed plan shows it.

Source: 3MF core specification 1.4.0 (package parts, units, objects, build items, transforms).
"""

from __future__ import annotations

import hashlib
import io
import math
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import mirrored, stand
from planner.io.results.attribute import quoted
from planner.model.batch import Batch, Placed, bed_numbers
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece
from planner.model.plan import Plan

MODEL = "3D/3dmodel.model"
LARGEST_MODEL = 2_000_000_000
DIGITS = 3  # as plan.json tells places and turns: a plan that was read back gives the same file
_LEVEL = 1  # of compression: 3 takes 0.7 times as long again and makes the file 3 % smaller
_ZIP_PLAIN = 1_900_000_000  # bytes of an entry that need no longer form of the ZIP
_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0"'
    ' Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)


Write = Callable[[str, bytes | Iterable[bytes]], None]


def bed_files(plan: Plan, shapes: Shapes, kept: KeptBeds | None = None) -> dict[str, bytes]:
    """One 3MF package and one binary STL a batch, named by the bed's number, by their paths in the folder."""
    made: dict[str, bytes] = {}

    def write(path: str, body: bytes | Iterable[bytes]) -> None:
        made[path] = body if isinstance(body, bytes) else b"".join(body)

    write_beds(plan, shapes, write, kept)
    return made


def write_beds(plan: Plan, shapes: Shapes, write: Write, kept: KeptBeds | None = None) -> Plan:
    """Write the files of bed after bed, so that only one is in memory; the plan with their digests.

    A bed that had a digest keeps it. Where its model is not the one of its digest it had begun before its
    parts changed: its files are those of ``kept``, the files of the plan before, or none. Nor is a model made
    of pieces that are no longer chosen.
    """
    last = {
        shapes.key(placed.piece): number
        for number, batch in enumerate(plan.batches)
        if shapes.know(batch)
        for placed in batch.placed
    }
    paths = bed_paths(plan)
    batches = []
    for number, batch in enumerate(plan.batches):
        batches.append(_write_bed(batch, paths[batch.name], shapes, write, kept))
        shapes.forget(key for key, end in last.items() if end <= number)
    return replace(plan, batches=tuple(batches))


def _write_bed(batch: Batch, path: str, shapes: Shapes, write: Write, kept: KeptBeds | None) -> Batch:
    model = _model(batch, shapes) if shapes.know(batch) else None
    found = None if model is None else _digest(model)
    told = batch if batch.digest or found is None else replace(batch, digest=found)
    before = kept.files(path, told.digest) if kept is not None else None
    if before is not None:
        for name, body in before.items():
            write(name, body)
    elif model is not None and told.digest == found:
        write(f"{path}.3mf", _package(model))
        write(f"{path}.stl", _stl(batch, shapes))
    return told


def bed_paths(plan: Plan) -> dict[str, str]:
    """``beds/07`` for ``bed 7``, by the name of the bed, in every plan of a series."""
    numbers = bed_numbers(batch.name for batch in plan.batches)
    return {name: f"beds/{number:02d}" for name, number in numbers.items()}


def model_digest(batch: Batch, shapes: Shapes) -> str:
    """SHA-256 of the model in the bed file: pieces, meshes, poses and places, and the name of the bed."""
    return _digest(_model(batch, shapes))


def _digest(model: Sequence[bytes]) -> str:
    found = hashlib.sha256()
    for piece in model:
        found.update(piece)
    return found.hexdigest()


class KeptBeds:
    """The bed files of an earlier results folder, each used only where its model has the digest."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def files(self, path: str, digest: str) -> dict[str, bytes] | None:
        """The package and the STL of a bed, or ``None`` where they are not there or another model's."""
        try:
            package = (self._folder / f"{path}.3mf").read_bytes()
            stl = (self._folder / f"{path}.stl").read_bytes()
            with zipfile.ZipFile(io.BytesIO(package)) as opened:
                if opened.getinfo(MODEL).file_size > LARGEST_MODEL:
                    return None
                found = hashlib.sha256(opened.read(MODEL)).hexdigest()
        except (OSError, KeyError, zipfile.BadZipFile, zlib.error):
            return None
        return {f"{path}.3mf": package, f"{path}.stl": stl} if found == digest else None


def standing_mesh(
    mesh: TriangleMesh, deposits: Mapping[str, Deposit], part: str, *, other_hand: bool
) -> TriangleMesh:
    """A part's mesh as it stands on the bed, lowest corner at the origin.

    The other hand is mirrored across x in its own bounding box, as its footprint is.
    """
    standing = stand(mesh, deposits[part].pose)
    return stand(mirrored(standing, axis=0)) if other_hand else standing


class Shapes:
    """The XML of every shape that some bed needs, until it is forgotten; ``meshes`` as a part names them."""

    def __init__(
        self,
        parts: Iterable[Part],
        pieces: Iterable[Piece],
        deposits: Mapping[str, Deposit],
        meshes: Mapping[str, TriangleMesh],
    ) -> None:
        self._deposits = deposits
        self._meshes = meshes
        self._file_of = {part.name: part.mesh for part in parts}
        self._piece = {piece.name: piece for piece in pieces}
        self._standing: dict[tuple[str, bool], TriangleMesh] = {}
        self._xml: dict[tuple[str, bool], bytes] = {}

    def know(self, batch: Batch) -> bool:
        """Whether every piece of a bed is one of the plan: a bed that prints now may hold others."""
        return all(placed.piece in self._piece for placed in batch.placed)

    def key(self, piece: str) -> tuple[str, bool]:
        """Pieces with the same key have the same shape."""
        found = self._piece[piece]
        return found.part, found.mirrored

    def offset(self, key: tuple[str, bool]) -> tuple[float, float]:
        """Where the lowest corner of the mesh lies in the coordinates of its footprint."""
        deposit = self._deposits[key[0]]
        low_x, low_y = deposit.footprint_low_mm
        if not key[1]:
            return -low_x, -low_y
        high_x = max(x for x, _ in deposit.footprint_mm)
        return high_x - deposit.extents_mm[0], -low_y

    def mesh(self, key: tuple[str, bool]) -> TriangleMesh:
        """A shape as it stands on the bed."""
        if key not in self._standing:
            part, other_hand = key
            mesh = self._meshes[self._file_of[part]]
            self._standing[key] = standing_mesh(mesh, self._deposits, part, other_hand=other_hand)
        return self._standing[key]

    def xml(self, key: tuple[str, bool]) -> bytes:
        """The ``<mesh>`` element of a shape."""
        if key not in self._xml:
            self._xml[key] = _mesh_xml(self.mesh(key))
        return self._xml[key]

    @property
    def kept(self) -> frozenset[tuple[str, bool]]:
        """Keys of the shapes that are in memory."""
        return frozenset(self._standing) | frozenset(self._xml)

    def forget(self, keys: Iterable[tuple[str, bool]]) -> None:
        """Let go of shapes that no later bed needs."""
        for key in list(keys):
            self._standing.pop(key, None)
            self._xml.pop(key, None)


def _mesh_xml(mesh: TriangleMesh) -> bytes:
    from planner.io.results.mesh_text_kernel import mesh_text

    return mesh_text(*mesh.indexed)


def _model(batch: Batch, shapes: Shapes) -> list[bytes]:
    """The model of a bed, piece by piece; the meshes in it are those that the shapes keep."""
    keys = list(dict.fromkeys(shapes.key(placed.piece) for placed in batch.placed))
    ids = {key: at for at, key in enumerate(keys, start=1)}
    title = quoted(f"{batch.name}: {batch.filament}")[1:-1]
    told = [
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<model unit="millimeter" xml:lang="en" xmlns="{_CORE}">\n'
        f'<metadata name="Title">{title}</metadata>\n<resources>\n'.encode()
    ]
    for key in keys:
        name = quoted(key[0] + (" mirrored" if key[1] else ""))
        told += [
            f'<object id="{ids[key]}" type="model" name={name}>'.encode(),
            shapes.xml(key),
            b"</object>\n",
        ]
    items = "".join(
        f'<item objectid="{ids[shapes.key(p.piece)]}" partnumber={quoted(p.piece)}'
        f' transform="{_transform(p, shapes.offset(shapes.key(p.piece)))}"/>\n'
        for p in batch.placed
    )
    return [*told, f"</resources>\n<build>\n{items}</build>\n</model>\n".encode()]


def _matrix(placed: Placed, offset: tuple[float, float]) -> tuple[float, float, float, float]:
    """Cosine and sine of the turn, and where the mesh's lowest corner comes to lie."""
    turn = math.radians(round(placed.turn_deg, DIGITS))
    c, s = math.cos(turn), math.sin(turn)
    x, y = round(placed.x_mm, DIGITS), round(placed.y_mm, DIGITS)
    return c, s, x + c * offset[0] - s * offset[1], y + s * offset[0] + c * offset[1]


def _transform(placed: Placed, offset: tuple[float, float]) -> str:
    """Twelve numbers, rows of the rotation then the shift; row vectors are multiplied from the left."""
    c, s, x, y = _matrix(placed, offset)
    return " ".join(f"{value:.6f}" for value in (c, s, 0, -s, c, 0, 0, 0, 1, x, y, 0))


def _stl(batch: Batch, shapes: Shapes) -> Iterator[bytes]:
    """All pieces of a bed as one binary STL, piece by piece, for programs that read nothing else."""
    from planner.io.results.facets_kernel import facets

    many = sum(len(shapes.mesh(shapes.key(placed.piece))) for placed in batch.placed)
    yield b"binary STL, mm".ljust(80, b" ") + many.to_bytes(4, "little")
    for placed in batch.placed:
        key = shapes.key(placed.piece)
        c, s, x, y = _matrix(placed, shapes.offset(key))
        turn = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
        corners = shapes.mesh(key).triangles.reshape(-1, 3) @ turn  # flat: five times as fast
        yield facets(corners, x, y)


def _package(model: Sequence[bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=_LEVEL) as package:
        for name, told in (
            ("[Content_Types].xml", [_TYPES.encode()]),
            ("_rels/.rels", [_RELATIONS.encode()]),
            (MODEL, model),
        ):
            large = sum(map(len, told)) > _ZIP_PLAIN
            # an entry opened by its name is dated 1980, the earliest that a ZIP can say: the same each time
            with package.open(name, "w", force_zip64=large) as entry:
                for piece in told:
                    entry.write(piece)
    return buffer.getvalue()
