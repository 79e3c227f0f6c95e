"""A STEP file with one box, written from the schema (ISO 10303-21 text, ISO 10303-214 entities)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

Vector = tuple[float, float, float]
Place = tuple[Vector, Vector, Vector]
MILLIMETRE = "SI_UNIT(.MILLI.,.METRE.)"
_LOOPS = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
_HEAD = (
    "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\n"
    "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));\nENDSEC;\nDATA;\n"
)


class _Writer:
    def __init__(self) -> None:
        self.lines: list[str] = []

    def add(self, text: str) -> str:
        self.lines.append(f"#{len(self.lines) + 1}={text};")
        return f"#{len(self.lines)}"

    def direction(self, vector: Iterable[float]) -> str:
        array = np.array(list(vector))
        return self.add(f"DIRECTION('',({_reals(array / np.linalg.norm(array))}))")


def _reals(values: Iterable[float]) -> str:
    return ",".join(f"{value:.6f}" for value in values)


def step_box_bytes(
    x: float, y: float, z: float, unit: str = MILLIMETRE, places: Sequence[Place] = ()
) -> bytes:
    """Eight corners, twelve straight edges, six plane faces; lengths in ``unit``.

    Parameters
    ----------
    places : of its occurrences in an assembly, as (corner, z axis, x axis); none: the box alone
    """
    out = _Writer()
    points = [np.array([a, b, c]) for c in (0.0, z) for b in (0.0, y) for a in (0.0, x)]
    corners = [out.add(f"CARTESIAN_POINT('',({_reals(p)}))") for p in points]
    ends = [out.add(f"VERTEX_POINT('',{corner})") for corner in corners]
    edges: dict[tuple[int, int], str] = {}
    faces = []
    for loop in _LOOPS:
        oriented = []
        for a, b in zip(loop, loop[1:] + loop[:1], strict=True):
            low, high = min(a, b), max(a, b)
            if (low, high) not in edges:
                vector = out.add(f"VECTOR('',{out.direction(points[high] - points[low])},1.)")
                line = out.add(f"LINE('',{corners[low]},{vector})")
                edges[low, high] = out.add(f"EDGE_CURVE('',{ends[low]},{ends[high]},{line},.T.)")
            sense = ".T." if a < b else ".F."
            oriented.append(out.add(f"ORIENTED_EDGE('',*,*,{edges[low, high]},{sense})"))
        turn = out.add(f"EDGE_LOOP('',({','.join(oriented)}))")
        bound = out.add(f"FACE_OUTER_BOUND('',{turn},.T.)")
        p, q, r = (points[k] for k in loop[:3])
        axis, first = out.direction(np.cross(q - p, r - q)), out.direction(q - p)
        place = out.add(f"AXIS2_PLACEMENT_3D('',{corners[loop[0]]},{axis},{first})")
        plane = out.add(f"PLANE('',{place})")
        faces.append(out.add(f"ADVANCED_FACE('',({bound}),{plane},.T.)"))
    solid = out.add(f"MANIFOLD_SOLID_BREP('box',{out.add(_shell(faces))})")
    shape, context, definition, common = _product(out, solid, unit)
    if places:
        _assembly(out, shape, context, definition, common, places)
    return (_HEAD + "\n".join(out.lines) + "\nENDSEC;\nEND-ISO-10303-21;\n").encode("ascii")


def _shell(faces: list[str]) -> str:
    return f"CLOSED_SHELL('',({','.join(faces)}))"


def _assembly(
    out: _Writer,
    shape: str,
    context: str,
    definition: str,
    common: tuple[str, str, str],
    places: Sequence[Place],
) -> None:
    """A product of which the box is a component, once for each place (ISO 10303-44, from memory)."""
    mechanical, design, _ = common
    frames = [_frame(out, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))]
    frames += [_frame(out, *place) for place in places]
    whole = out.add(f"SHAPE_REPRESENTATION('',({','.join(frames)}),{context})")
    product = out.add(f"PRODUCT('whole','whole','',({mechanical}))")
    version = out.add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
    above = out.add(f"PRODUCT_DEFINITION('design','',{version},{design})")
    defined = out.add(f"PRODUCT_DEFINITION_SHAPE('','',{above})")
    out.add(f"SHAPE_DEFINITION_REPRESENTATION({defined},{whole})")
    for n, frame in enumerate(frames[1:], start=1):
        use = out.add(f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{n}','box {n}','',{above},{definition},$)")
        used = out.add(f"PRODUCT_DEFINITION_SHAPE('','',{use})")
        moved = out.add(f"ITEM_DEFINED_TRANSFORMATION('','',{frames[0]},{frame})")
        relation = out.add(
            f"(REPRESENTATION_RELATIONSHIP('','',{shape},{whole})"
            f"REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION({moved})"
            "SHAPE_REPRESENTATION_RELATIONSHIP())"
        )
        out.add(f"CONTEXT_DEPENDENT_SHAPE_REPRESENTATION({relation},{used})")


def _frame(out: _Writer, corner: Vector, up: Vector, along: Vector) -> str:
    at = out.add(f"CARTESIAN_POINT('',({_reals(corner)}))")
    return out.add(f"AXIS2_PLACEMENT_3D('',{at},{out.direction(up)},{out.direction(along)})")


def _product(out: _Writer, solid: str, unit: str) -> tuple[str, str, str, tuple[str, str, str]]:
    length = out.add(f"(LENGTH_UNIT()NAMED_UNIT(*){unit})")
    angle = out.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
    solid_angle = out.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
    least = out.add(f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-6),{length},'d','')")
    context = out.add(
        f"(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({least}))"
        f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{angle},{solid_angle}))REPRESENTATION_CONTEXT('',''))"
    )
    shape = out.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({solid}),{context})")
    application = out.add("APPLICATION_CONTEXT('automotive design')")
    mechanical = out.add(f"PRODUCT_CONTEXT('',{application},'mechanical')")
    product = out.add(f"PRODUCT('box','box','',({mechanical}))")
    version = out.add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
    design = out.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{application},'design')")
    definition = out.add(f"PRODUCT_DEFINITION('design','',{version},{design})")
    defined = out.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
    out.add(f"SHAPE_DEFINITION_REPRESENTATION({defined},{shape})")
    return shape, context, definition, (mechanical, design, application)
