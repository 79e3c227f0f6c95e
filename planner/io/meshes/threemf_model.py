"""One model part of a 3MF package: its unit, objects and build items, as they are written."""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.raw_mesh import EXPORT_AGAIN
from planner.io.meshes.stl import refuse_too_many
from planner.io.meshes.threemf_blocks import Block, taken_out
from planner.units import LENGTH_MM

# Namespaces are identifiers of the published specifications, compared letter by letter.
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
MATERIAL = "http://schemas.microsoft.com/3dmanufacturing/material/2015/02"
UNDERSTOOD = (CORE, PRODUCTION, MATERIAL)
_LARGEST = 1e12  # a coordinate beyond it is no length in any unit


@dataclass(frozen=True, slots=True)
class Placed:
    """An object somewhere: the part that holds it ('' for the same one), its id, where it goes."""

    path: str
    object_id: str
    transform: tuple[float, ...] | None


@dataclass(slots=True)
class ObjectRecord:
    """An object: triangles of its own, or components."""

    kind: str
    name: str
    vertices: array[float] = field(default_factory=lambda: array("d"))
    triangles: array[int] = field(default_factory=lambda: array("q"))
    components: list[Placed] = field(default_factory=list)

    def corners(self) -> NDArray[np.float64]:
        """Corners of its own triangles, (m, 3, 3).

        Raises
        ------
        MeshError
            when a triangle names a vertex that is not there, or a coordinate is no length
        """
        points = np.frombuffer(self.vertices, dtype=np.float64).reshape(-1, 3)
        if not (np.abs(points) < _LARGEST).all():
            raise MeshError("a coordinate is not a finite number.", next_step=EXPORT_AGAIN)
        faces = np.frombuffer(self.triangles, dtype=np.int64).reshape(-1, 3)
        if len(faces) and (faces.min() < 0 or faces.max() >= len(points)):
            raise MeshError(
                f"a triangle names vertex {int(faces.max())}; the object has {len(points)}.",
                next_step=EXPORT_AGAIN,
            )
        return points[faces]


@dataclass(slots=True)
class ModelPart:
    """What one model part holds."""

    unit: str = "millimeter"
    objects: dict[str, ObjectRecord] = field(default_factory=dict)
    items: list[Placed] = field(default_factory=list)


def read_model(data: bytes, limits: Limits) -> ModelPart:
    """Read the XML of one model part; document types and entities are refused.

    Source: 3MF core specification 1.4.0, chapters 3 and 4.

    Raises
    ------
    MeshError
        when it is no well-formed model, needs an extension that is not understood, or is over a limit
    """
    plain = taken_out(data)
    if plain is not None:
        try:
            return parsed(*plain, limits)
        except MeshError:
            pass  # the parser alone names the right place in the text
    return parsed(data, (), limits)


def parsed(data: bytes, blocks: Sequence[Block], limits: Limits) -> ModelPart:
    """The model from its text and the blocks that were taken out of it.

    Raises
    ------
    MeshError
        as for `read_model`
    """
    from xml.etree.ElementTree import ParseError

    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser

    builder = _Builder(limits, blocks)
    parser = DefusedXMLParser(target=builder, forbid_dtd=True)
    try:
        parser.feed(data)
        parser.close()
    except DefusedXmlException as error:
        raise MeshError(
            "the model holds a document type or entities, which 3MF does not allow.", next_step=EXPORT_AGAIN
        ) from error
    except (ParseError, UnicodeError) as error:
        raise MeshError(f"the model is no well-formed XML: {error}.", next_step=EXPORT_AGAIN) from error
    except (LookupError, ValueError, OverflowError) as error:
        raise MeshError(
            f"a value of the model is missing or wrong: {error}.", next_step=EXPORT_AGAIN
        ) from error
    if not builder.seen:
        raise MeshError("the part is no 3MF model.", next_step=EXPORT_AGAIN)
    return builder.model


class _Builder:
    """Takes the elements as the parser meets them; nothing of the tree is kept."""

    def __init__(self, limits: Limits, blocks: Sequence[Block]) -> None:
        self.model = ModelPart()
        self.seen = False
        self._limits = limits
        self._blocks = iter(blocks)
        self._bulk = bool(blocks)
        self._object: ObjectRecord | None = None
        self._prefixes: dict[str, str] = {}
        self._count = self._vertices = 0
        self._starts: dict[str, Any] = {
            f"{{{CORE}}}vertex": self._vertex,
            f"{{{CORE}}}triangle": self._triangle,
            f"{{{CORE}}}object": self._begin_object,
            f"{{{CORE}}}component": self._component,
            f"{{{CORE}}}item": self._item,
            f"{{{CORE}}}model": self._begin_model,
        }

    def start(self, tag: str, attrib: dict[str, str]) -> None:
        take = self._starts.get(tag)
        if take is not None:
            take(attrib)
        elif self._bulk and tag.rpartition("}")[2] in ("vertices", "triangles"):
            self._block(next(self._blocks), tag.startswith(f"{{{CORE}}}"))

    def _block(self, block: Block, meant: bool) -> None:
        """The numbers of a block, unless they lie outside any object or in a namespace that is not read."""
        if self._object is None or not meant:
            return
        if block.kind == "vertices":
            self._object.vertices.frombytes(block.numbers.tobytes())
            self._points(len(block.numbers))
        else:
            self._object.triangles.frombytes(block.numbers.tobytes())
            self._corners(len(block.numbers))

    def _points(self, more: int) -> None:
        self._vertices += more
        most = 3 * self._limits.triangles
        if self._vertices > most:
            raise MeshError(
                f"the model has {self._vertices} vertices or more; the limit is {most}.",
                next_step="Export it coarser.",
            )

    def _corners(self, more: int) -> None:
        self._count += more
        refuse_too_many(min(self._count, self._limits.triangles + 1), self._limits)

    def end(self, tag: str) -> None:
        if tag == f"{{{CORE}}}object":
            self._object = None

    def start_ns(self, prefix: str, uri: str) -> None:
        self._prefixes[prefix] = uri

    def data(self, text: str) -> None:
        """Text between elements carries nothing."""

    def close(self) -> ModelPart:
        return self.model

    def _begin_model(self, attrib: dict[str, str]) -> None:
        self.seen = True
        self.model.unit = attrib.get("unit", "millimeter")
        if self.model.unit not in LENGTH_MM:
            raise ValueError(f"unit {self.model.unit[:40]!r}")
        for prefix in attrib.get("requiredextensions", "").split():
            uri = self._prefixes.get(prefix, prefix)
            if uri not in UNDERSTOOD:
                raise MeshError(
                    f"the model needs the extension {uri[:120]!r}, which is not understood.",
                    next_step="Export it as plain triangles.",
                )

    def _begin_object(self, attrib: dict[str, str]) -> None:
        if len(self.model.objects) >= self._limits.objects:
            raise MeshError(f"the package has more than {self._limits.objects} objects, which is the limit.")
        self._object = ObjectRecord(attrib.get("type", "model"), attrib.get("name", "").strip())
        self.model.objects[attrib["id"]] = self._object

    def _vertex(self, attrib: dict[str, str]) -> None:
        if self._object is not None:
            self._object.vertices.extend((_real(attrib["x"]), _real(attrib["y"]), _real(attrib["z"])))
            self._points(1)

    def _triangle(self, attrib: dict[str, str]) -> None:
        if self._object is not None:
            self._object.triangles.extend((_whole(attrib["v1"]), _whole(attrib["v2"]), _whole(attrib["v3"])))
            self._corners(1)

    def _component(self, attrib: dict[str, str]) -> None:
        if self._object is not None:
            self._object.components.append(_placed(attrib))

    def _item(self, attrib: dict[str, str]) -> None:
        if len(self.model.items) >= 10 * self._limits.objects:
            raise MeshError(f"the build has more than {10 * self._limits.objects} items, which is the limit.")
        self.model.items.append(_placed(attrib))


def _real(text: str) -> float:
    """A number as XML Schema writes it; Python alone takes 1_0 for ten."""
    if "_" in text:
        raise ValueError(f"{text[:40]!r} is no number")
    return float(text)


def _whole(text: str) -> int:
    """A whole number of at most 18 digits."""
    if "_" in text or len(text.strip()) > 18:
        raise ValueError(f"{text[:40]!r} is no number of a vertex")
    return int(text)


def _placed(attrib: dict[str, str]) -> Placed:
    text = attrib.get("transform")
    transform = None
    if text is not None:
        transform = tuple(_real(word) for word in text.split())
        if len(transform) != 12 or not all(abs(value) < _LARGEST for value in transform):
            raise ValueError(f"transform {text[:60]!r}")
    return Placed(attrib.get(f"{{{PRODUCTION}}}path", ""), attrib["objectid"], transform)
