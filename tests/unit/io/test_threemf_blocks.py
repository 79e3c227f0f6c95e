"""What is read in bulk is, to the bit and to the word of a refusal, what the parser alone reads."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.threemf_blocks import taken_out
from planner.io.meshes.threemf_model import ModelPart, parsed, read_model
from tests.builders import THREEMF_NAMESPACE, cone, threemf_object

LIMITS = Limits()
CONE = threemf_object(1, cone(20.0, 30.0, n=12), "cone")
FOREIGN = (
    '<object id="1"><mesh><o:vertices xmlns:o="urn:o"><o:vertex x="1" y="2" z="3"/></o:vertices>'
    "</mesh></object>"
)


def model(resources: str, before: str = "") -> bytes:
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{before}<model unit="millimeter" '
        f'xmlns="{THREEMF_NAMESPACE}"><resources>{resources}</resources>'
        '<build><item objectid="1"/></build></model>'
    ).encode()


def mesh(vertices: str, triangles: str = "") -> str:
    return (
        f'<object id="1"><mesh><vertices>{vertices}</vertices>'
        f"<triangles>{triangles}</triangles></mesh></object>"
    )


def told(data: bytes, *, alone: bool) -> object:
    """All that is read of a model, or its refusal."""
    try:
        part = parsed(data, (), LIMITS) if alone else read_model(data, LIMITS)
    except MeshError as error:
        return str(error)
    return part.unit, part.items, {key: bits(part, key) for key in part.objects}


def bits(part: ModelPart, key: str) -> object:
    one = part.objects[key]
    return one.kind, one.name, one.vertices.tobytes(), one.triangles.tobytes(), one.components


VERTEX = '<vertex x="1.5" y="-2e1" z="0"/>'
PLAIN = (
    CONE,
    mesh("\n  <vertex x='1' y='2' z='3'/>".replace("'", '"') * 4, '<triangle v1="0" v2="1" v3="2" />' * 3),
    mesh('<vertex z="3" x="1" y="2"/><vertex x="1" y="2" z="3"/>'),
    mesh(VERTEX, '<triangle v1="0" v2="1" v3="2" pid="4" p1="0"/><triangle pid="" v3="0" v2="1" v1="2"/>'),
    mesh('<vertex x="0.1" y="123456789012345678" z="1.7976931348623157e308"/>'),
    mesh('<vertex x="5e-324" y="-0" z="+7"/><vertex x=".5" y="5." z="1E+2"/>'),
    mesh('<vertex x=" 1 " y="nan" z="1.0"/>', '<triangle v1="+1" v2="10" v3=" 2"/>'),
    mesh(""),
)
OTHERS = (
    mesh('<vertex x="1" y="2" z="1_0"/>', '<triangle v1="0" v2="1_0" v3="2"/>'),
    mesh("<!-- <vertex x='1' y='2' z='3'/> -->" + VERTEX),
    mesh(VERTEX.replace('"', "'")),
    mesh('<vertex x="&#49;" y="2" z="3"/>'),
    mesh(VERTEX + "<metadata/>"),
    mesh('<vertex x="1" y="2" z="3" xmlns:q="urn:q" q:w="1"/>'),
    mesh(VERTEX.replace("/>", "></vertex>")),
    mesh('<vertex x="1" x="2" y="2" z="3"/>'),
    mesh('<vertex x="1" y="2"/>'),
    mesh('<vertex x="1"y="2" z="3"/>'),
    mesh('<vertex x="1" y="two" z="3"/>'),
    mesh(VERTEX, '<triangle v1="0" v2="1.0" v3="2"/>'),
    mesh(VERTEX, f'<triangle v1="0" v2="1" v3="{10**30}"/>'),
    mesh(VERTEX + '<vertices><vertex x="1" y="2" z="3"/></vertices>'),
    f"<vertices>{VERTEX}</vertices>{CONE}",
    f"<!-- <vertices>{VERTEX}</vertices> -->{CONE}",
    f"<?note <vertices>{VERTEX}</vertices>?>{CONE}",
    f"<vertices/>{CONE}",
    FOREIGN,
    CONE.replace("<vertices>", '<vertices xmlns="urn:o">'),
    CONE[: len(CONE) // 2],
)


@pytest.mark.parametrize("resources", [*PLAIN, *OTHERS])
def test_in_bulk_as_by_the_parser_alone(resources: str) -> None:
    """The same numbers to the bit, or the same words of refusal."""
    assert told(model(resources), alone=False) == told(model(resources), alone=True)


def test_what_is_written_plainly_is_read_in_bulk() -> None:
    """Else the comparison above would compare the parser with itself."""
    assert all(taken_out(model(resources)) is not None for resources in PLAIN)
    assert taken_out(model(OTHERS[0])) is None


def test_a_block_of_another_namespace_is_passed_over_in_bulk_too() -> None:
    """Its default name is not that of the standard: nothing of it is a mesh."""
    text = model(CONE).replace(THREEMF_NAMESPACE.encode(), b"urn:o", 1)
    assert told(text, alone=False) == told(text, alone=True)
    assert "no 3MF model" in str(told(text, alone=False))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    st.lists(
        st.floats(allow_nan=False, allow_infinity=False)
        | st.floats(-1000, 1000).map(lambda v: round(v, 4))
        | st.integers(-(10**20), 10**20).map(float),
        min_size=3,
        max_size=3,
    ),
    st.sampled_from(["{!r}", "{:.6f}", "{:.3e}", "{:g}", "{:.17g}", "{:.0f}", "{:.25f}"]),
)
def test_every_number_is_the_nearest_double(point: list[float], form: str) -> None:
    """Python's own reading of the same digits is the reference."""
    words = [form.format(value) for value in point]
    data = model(mesh('<vertex x="{}" y="{}" z="{}"/>'.format(*words)))
    plain = taken_out(data)
    if plain is None:
        assert max(map(len, words)) > 255  # such digits are left to the parser
        return
    got = plain[1][0].numbers
    assert got.tobytes() == np.array([[float(word) for word in words]]).tobytes()


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.integers(0, 10**9), st.sampled_from(PLAIN + OTHERS))
def test_a_damaged_model_is_told_in_the_same_words(seed: int, resources: str) -> None:
    """A few bytes changed, doubled or lost anywhere."""
    rng = np.random.default_rng(seed)
    data = bytearray(model(resources))
    for _ in range(int(rng.integers(1, 4))):
        at = int(rng.integers(len(data)))
        match int(rng.integers(3)):
            case 0:
                data[at] = int(rng.choice(list(b'<>/"& =ex0.-\xff\x00')))
            case 1:
                del data[at : at + int(rng.integers(1, 20))]
            case _:
                data[at:at] = data[at : at + int(rng.integers(1, 40))]
    assert told(bytes(data), alone=False) == told(bytes(data), alone=True)


def test_vertices_have_a_limit_of_their_own() -> None:
    """Points without a triangle fill the memory as well: three for each triangle that is allowed."""
    few = replace(LIMITS, triangles=2)
    with pytest.raises(MeshError, match="7 vertices or more; the limit is 6"):
        read_model(model(mesh(VERTEX * 7)), few)
    with pytest.raises(MeshError, match="7 vertices or more; the limit is 6"):
        parsed(model(mesh(VERTEX * 7)), (), few)
