"""3MF packages: build, components, transforms, and what is refused."""

from __future__ import annotations

import io
import zipfile

import numpy as np
import pytest

from planner.errors import MeshError
from planner.geometry.mesh.measure import volume
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.threemf import read_threemf
from tests.builders import (
    THREEMF_NAMESPACE,
    box,
    cone,
    package_bytes,
    threemf_bytes,
    threemf_object,
)

BOX = threemf_object(1, box(10, 20, 30), "pod")
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"


def test_only_what_the_build_names_is_read() -> None:
    """Two objects, one item: one mesh, with its name and the unit of the file."""
    data = threemf_bytes(BOX + threemf_object(2, cone(5, 5)), '<item objectid="1"/>', unit="centimeter")
    (raw,) = read_threemf(data, Limits())
    assert (raw.label, raw.copies, raw.unit) == ("pod", 1, "centimeter")
    assert np.array_equal(raw.triangles, box(10, 20, 30).triangles)


def test_items_that_differ_by_a_turn_or_a_shift_are_copies() -> None:
    """Three copies, a mirrored and a stretched one: three meshes."""
    items = [
        '<item objectid="1"/>',
        '<item objectid="1" transform="1 0 0 0 1 0 0 0 1 99 0 0"/>',
        '<item objectid="1" transform="0 1 0 -1 0 0 0 0 1 0 99 0"/>',
        '<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>',
        '<item objectid="1" transform="2 0 0 0 1 0 0 0 1 0 0 0"/>',
    ]
    found = read_threemf(threemf_bytes(BOX, "".join(items)), Limits())
    assert [raw.copies for raw in found] == [3, 1, 1]
    assert [volume(TriangleMesh(raw.triangles)) for raw in found] == pytest.approx([6000, 6000, 12000])


def test_a_mirrored_item_is_not_inside_out() -> None:
    """A negative determinant does not flip the sign of the volume."""
    data = threemf_bytes(BOX, '<item objectid="1" transform="1 0 0 0 -1 0 0 0 1 0 0 0"/>')
    mesh = TriangleMesh(read_threemf(data, Limits())[0].triangles)
    assert volume(mesh) == pytest.approx(6000)
    assert mesh.bounds.tolist() == [[0, -20, 0], [10, 0, 30]]


def test_copies_keep_the_places_that_the_build_gives_them() -> None:
    """A box here, one shifted and one turned: what moves the first to each of them; told in mm."""
    items = [
        '<item objectid="1" transform="1 0 0 0 1 0 0 0 1 5 0 0"/>',
        '<item objectid="1" transform="1 0 0 0 1 0 0 0 1 99 0 0"/>',
        '<item objectid="1" transform="0 1 0 -1 0 0 0 0 1 0 99 0"/>',
    ]
    (raw,) = read_threemf(threemf_bytes(BOX, "".join(items), unit="centimeter"), Limits())
    first, second, third = raw.places(10.0)
    assert first[9:] == (0.0, 0.0, 0.0)
    assert second == (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 940.0, 0.0, 0.0)
    turn, shift = np.array(third[:9]).reshape(3, 3), np.array(third[9:])
    assert (raw.triangles * 10.0 @ turn.T + shift).min(axis=(0, 1)).tolist() == pytest.approx([-200, 990, 0])


@pytest.mark.parametrize(
    ("long", "names", "said"),
    [
        (600, ("a", "b"), ["a", "b"]),  # no bed holds it
        (200, ("a", "b"), ["pair"]),  # one part of two bodies
        (600, ("a", ""), ["pair"]),  # bodies without names
    ],
)
def test_an_object_of_named_ones_that_no_bed_holds_is_an_assembly(
    long: int, names: tuple[str, str], said: list[str]
) -> None:
    objects = "".join(
        threemf_object(k, box(10, 20, 30 + k), name) for k, name in enumerate(names, start=1)
    ) + (
        '<object id="5" name="pair"><components><component objectid="1"/>'
        f'<component objectid="2" transform="1 0 0 0 1 0 0 0 1 {long} 0 0"/></components></object>'
    )
    found = read_threemf(threemf_bytes(objects, '<item objectid="5"/>'), Limits())
    assert [raw.label for raw in found] == said
    low = min(float(raw.triangles.min()) for raw in found)
    assert (low, max(float(raw.triangles.max()) for raw in found)) == (0.0, long + 10.0)


def test_components_lie_where_their_object_puts_them() -> None:
    """Two boxes in an object, 100 apart, the whole shifted by the item."""
    pair = (
        '<object id="5" name="pair"><components><component objectid="1"/>'
        '<component objectid="1" transform="1 0 0 0 1 0 0 0 1 100 0 0"/></components></object>'
    )
    data = threemf_bytes(BOX + pair, '<item objectid="5" transform="1 0 0 0 1 0 0 0 1 0 0 7"/>')
    mesh = TriangleMesh(read_threemf(data, Limits())[0].triangles)
    assert len(mesh) == 24
    assert mesh.bounds.tolist() == [[0, 0, 7], [110, 20, 37]]


def test_objects_in_another_part_of_the_package_are_found() -> None:
    """The production extension names them by path."""
    inner = (
        f'<model unit="millimeter" xmlns="{THREEMF_NAMESPACE}"><resources>{BOX}</resources><build/></model>'
    )
    outer = (
        f'<model unit="millimeter" requiredextensions="p" xmlns="{THREEMF_NAMESPACE}" xmlns:p="{PRODUCTION}">'
        '<resources><object id="9" name="whole"><components>'
        '<component p:path="/3D/Objects/pod.model" objectid="1"/></components></object></resources>'
        '<build><item objectid="9"/></build></model>'
    )
    data = package_bytes({"3D/3dmodel.model": outer, "3D/Objects/pod.model": inner})
    (raw,) = read_threemf(data, Limits())
    assert (raw.label, len(raw.triangles)) == ("whole", 12)


def test_support_objects_are_left_out_and_said() -> None:
    """The build holds a part and its support."""
    support = threemf_object(2, cone(5, 5)).replace('type="model"', 'type="support"')
    (raw,) = read_threemf(threemf_bytes(BOX + support, '<item objectid="1"/><item objectid="2"/>'), Limits())
    assert raw.label == "pod"
    assert "1 support" in raw.notes[0]


@pytest.mark.parametrize(
    ("resources", "build", "said"),
    [
        (BOX, "", "no item"),
        (BOX, '<item objectid="7"/>', "object '7'"),
        (BOX, '<item objectid="1" transform="1 0 0"/>', "transform"),
        (BOX, '<item objectid="1" transform="1 0 0 0 1 0 0 0 nan 0 0 0"/>', "transform"),
        (BOX, '<item objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"/>', "flattens"),
        (BOX.replace('v1="0"', 'v1="99"'), '<item objectid="1"/>', "vertex 99"),
        (BOX.replace('v1="0"', 'v1="-1"'), '<item objectid="1"/>', "vertex"),
        (BOX.replace('x="0.0"', ""), '<item objectid="1"/>', "missing or wrong"),
        (BOX.replace("<vertices>", "<vertices"), '<item objectid="1"/>', "well-formed"),
        (BOX.replace('type="model"', 'type="support"'), '<item objectid="1"/>', "support only"),
        (
            '<object id="1"><components><component objectid="2"/></components></object>'
            '<object id="2"><components><component objectid="1"/></components></object>',
            '<item objectid="1"/>',
            "within themselves",
        ),
    ],
)
def test_broken_models_are_refused(resources: str, build: str, said: str) -> None:
    """What is wrong, in words."""
    with pytest.raises(MeshError, match=said):
        read_threemf(threemf_bytes(resources, build), Limits())


def test_a_document_type_is_refused() -> None:
    """Entities could blow up or fetch; 3MF allows neither."""
    bomb = '<!DOCTYPE m [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    with pytest.raises(MeshError, match="document type"):
        read_threemf(threemf_bytes(BOX, '<item objectid="1"/>', before=bomb), Limits())


def test_an_extension_that_must_be_understood_and_is_not_is_refused() -> None:
    """Half a solid would be worse than none."""
    model = (
        f'<model requiredextensions="b" xmlns="{THREEMF_NAMESPACE}" xmlns:b="urn:lattice"><resources>{BOX}'
        '</resources><build><item objectid="1"/></build></model>'
    )
    with pytest.raises(MeshError, match="urn:lattice"):
        read_threemf(package_bytes({"3D/3dmodel.model": model}), Limits())


def test_components_that_multiply_are_counted_before_they_are_made() -> None:
    """Ten levels of ten components: ten thousand million boxes are refused at once."""
    levels = "".join(
        f'<object id="{k + 2}"><components>'
        + f'<component objectid="{k + 1}"/>' * 10
        + "</components></object>"
        for k in range(10)
    )
    with pytest.raises(MeshError, match="objects or more"):
        read_threemf(threemf_bytes(BOX + levels, '<item objectid="11"/>'), Limits())


def test_archives_over_the_limits_are_refused() -> None:
    """Too many entries, too large, unpacking too far, a password flag."""
    data = threemf_bytes(BOX, '<item objectid="1"/>')
    for limits, said in (
        (Limits(archive_entries=2), "files"),
        (Limits(archive_bytes=100), "unpacks to"),
        (Limits(archive_floor_bytes=100, archive_ratio=1.5), "times its size"),
        (Limits(triangles=11), "limit is 11"),
    ):
        with pytest.raises(MeshError, match=said):
            read_threemf(data, limits)
    two = threemf_bytes(BOX + threemf_object(2, box(1, 1, 1)), '<item objectid="1"/>')
    with pytest.raises(MeshError, match="more than 1 objects"):
        read_threemf(two, Limits(objects=1))


def test_a_package_without_a_model_or_cut_off_is_refused() -> None:
    """A zip of something else; half a zip; no zip."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as other:
        other.writestr("readme.txt", "hello")
    data = threemf_bytes(BOX, '<item objectid="1"/>')
    for bad in (stream.getvalue(), data[: len(data) // 2], b"PK\x03\x04", b"hello"):
        with pytest.raises(MeshError):
            read_threemf(bad, Limits())
