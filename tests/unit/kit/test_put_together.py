"""An airframe that is put together by what fits: seats, sides, sweep and dihedral, and doubts."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.airframe_lie import Sitting, aft_of, lie_of, pairs_of
from planner.kit.by_shape import ShapeReading, read_shapes
from planner.kit.ends import PartEnds, look
from planner.kit.joints import Joined, join
from planner.kit.mounts import Mount, aft_by_mounts, mounts_of, swapped
from planner.kit.proposal import Proposal
from planner.kit.put_together import DOUBT, PutTogether, put_together
from planner.kit.reading import KitMesh
from planner.kit.roll import rolled
from planner.kit.rows import Row, rows_of
from tests.kits import shapes
from tests.kits.glider import _panel, glider, laid_out
from tests.kits.mated import mated_kit

LEAD = np.array([20.0, 0.0, 0.0])  # the wing root's leading edge, but for its side


class Read:
    """A glider laid out anyhow, and what is found on the way."""

    def __init__(self, **how: object) -> None:
        self.meshes, self.back = laid_out(glider(**how))  # type: ignore[arg-type]
        self.parts: PartEnds = look(sorted(self.meshes), self.meshes)
        self.found: Joined = join(self.parts, {}, {})
        self.mounts: tuple[Mount, ...] = mounts_of(self.parts, self.found, frozenset())
        self.rows: tuple[Row, ...] = rows_of(self.parts, self.found, mounts=self.mounts)

    def made(self, mounts: tuple[Mount, ...] | None = None) -> PutTogether | None:
        return put_together(self.parts, self.found, self.rows, self.mounts if mounts is None else mounts)


@pytest.fixture(scope="module")
def read() -> Read:
    return Read()


@pytest.fixture(scope="module")
def made(read: Read) -> PutTogether:
    found = read.made()
    assert found is not None
    return found


def off(
    mesh: TriangleMesh, seat: tuple[np.ndarray, np.ndarray], back: np.ndarray, shift: np.ndarray
) -> float:
    points = mesh.indexed[0]
    here = points @ seat[0].T + seat[1]
    meant = points @ back[:3, :3].T + back[:3, 3] - shift
    away = np.linalg.norm(here[:, None] - meant[None], axis=2)  # a front that is the same upside down is one
    return float(max(away.min(axis=0).max(), away.min(axis=1).max()))


def test_every_part_of_an_airframe_that_mates_sits_where_it_was_cut(read: Read, made: PutTogether) -> None:
    """Turned by chance, to a tenth of a millimetre; stations count from the wing root's leading edge."""
    assert set(made.seats) == set(read.meshes)
    assert made.confidence > 0.8
    for name, seat in made.seats.items():
        assert np.linalg.det(seat[0]) == pytest.approx(1.0)
        assert off(read.meshes[name], seat, read.back[name], LEAD) < 0.1, name


def test_sweep_and_dihedral_are_told_as_they_were_drawn(made: PutTogether) -> None:
    """atan(30 / 200), atan(20 / 200), atan(10 / 90), atan(12 / 70): by hand."""
    (note,) = made.notes
    assert "wing swept 8.5 degrees at its leading edge, dihedral 5.7 degrees" in note
    assert "tail swept 6.3 degrees at its leading edge, dihedral 0.0 degrees" in note
    assert "fin swept 9.7 degrees at its leading edge" in note
    assert "fits a seat of front; swept 8.5 degrees" in made.reasons["wing l"]
    assert made.reasons["back"] == "its end fits that of front"


def test_sides_are_those_on_which_panels_sit(made: PutTogether) -> None:
    assert made.sides == {"wing r": "right", "wing l": "left", "tail r": "right", "tail l": "left"}
    wing, tail = (
        dict.fromkeys(("wing r", "wing l"), "wing"),
        dict.fromkeys(("tail r", "tail l", "fin"), "tail"),
    )
    assert made.sections == {**wing, **tail}


def test_panels_of_one_size_are_told_apart_by_where_they_sit(read: Read) -> None:
    """A tail that is nearly as large as the wing is a tail, and sure, and has the hand of its side."""
    large = {name: solid for name, solid in glider().items() if not name.startswith("tail")}
    tail = _panel(60.0, 58.0, 240.0, 10.0, 0.0).translate((190.0, 36.0, 0.0))
    meshes, _ = laid_out({**large, "tail r": tail, "tail l": tail.mirror((0.0, 1.0, 0.0))})
    reading = read_shapes([KitMesh(name, mesh) for name, mesh in meshes.items()], ())
    sections = {one.mesh: (one.value, one.sure) for one in reading.proposals if one.key == "section"}
    assert sections["tail r"] == sections["tail l"] == sections["fin"] == ("tail", True)
    assert {sections["wing r"], sections["wing l"]} == {("left wing", True), ("right wing", True)}


def test_panels_that_hang_down_change_sides(read: Read, made: PutTogether) -> None:
    """Each of the two would fit the seat of the other; both ways give the same airframe in the end."""
    pair = [mount for mount in read.mounts if mount.guest.startswith("wing")]
    assert all(mount.either for mount in pair)
    other = swapped(read.parts, pair[0], pair[1])
    assert other is not None
    assert {mount.guest: mount.seat for mount in other} == {
        pair[0].guest: pair[1].seat,
        pair[1].guest: pair[0].seat,
    }
    rest = tuple(mount for mount in read.mounts if mount not in pair)
    again = read.made((*rest, *other))
    assert again is not None
    assert again.sides == made.sides


def test_each_root_has_its_seat_and_blunt_edges_lead(read: Read) -> None:
    assert {(mount.guest, mount.host) for mount in read.mounts} == {
        ("wing r", "front"), ("wing l", "front"), ("tail r", "back"), ("tail l", "back"), ("fin", "back"),
    }  # fmt: skip
    for host, way in aft_by_mounts(read.mounts).items():
        assert (read.back[host][:3, :3] @ way).tolist() == pytest.approx([1.0, 0.0, 0.0], abs=1e-3)
    (hull,) = read.rows
    assert [place[0] for place in hull.parts] == ["front", "back"]  # aft by the panels


def test_what_is_drawn_in_its_place_has_no_mounts() -> None:
    meshes = {name: shapes.mesh_of(solid) for name, solid in glider().items()}
    parts = look(sorted(meshes), meshes)
    assert mounts_of(parts, join(parts, {}, {}), frozenset()) == ()


def test_lengths_of_a_round_hull_are_turned_to_one_another(read: Read) -> None:
    """A joint of two circles fits at every angle: the back is laid on it as it happened to lie."""
    (row,) = read.rows
    still = {seat.mesh: (seat.turn, seat.shift) for seat in row.seats}
    same, doubts = rolled(read.parts, read.found, row, still, ())
    assert same == still
    assert doubts == ()
    turned = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    at = still["back"]
    loose = {**still, "back": (turned @ at[0], turned @ at[1])}
    for start in (still, loose):
        made, doubts = rolled(read.parts, read.found, row, start, sitting(read, start))
        assert doubts == ()
        ways = [one for one in sitting(read, made) if one.mount.guest.startswith(("wing", "tail"))]
        pairs = pairs_of(ways)
        assert len(pairs) == 2
        across = [one.middle - other.middle for one, other in pairs]
        across = [way / np.linalg.norm(way) for way in across]
        assert abs(float(across[0] @ across[1])) == pytest.approx(1.0, abs=1e-3)
        assert aft_of(ways, np.array([1.0, 0.0, 0.0])) is None  # blunt edges do not lie across the hull
        assert lie_of(read.parts, ways[:1], None) is None  # one panel is no pair


def sitting(read: Read, motions: Mapping[str, tuple[np.ndarray, np.ndarray]]) -> list[Sitting]:
    found = []
    for mount in read.mounts:
        host = motions[mount.host]
        guest = host[0] @ mount.turn, host[0] @ mount.shift + host[1]
        found.append(Sitting(mount, host, guest, {mount.guest: guest}))
    return found


def test_a_flat_wing_without_a_fin_may_lie_either_way_up() -> None:
    plain = Read(rise=0.0, fin=False)
    found = plain.made()
    assert found is not None
    assert found.confidence < 0.8
    assert f"{DOUBT}nothing tells which way is up" in found.notes
    for name in ("front", "back"):  # aft it is known all the same
        turn, shift = found.seats[name]
        x = plain.meshes[name].indexed[0] @ turn[0] + shift[0]
        meant = plain.meshes[name].indexed[0] @ plain.back[name][0, :3] + plain.back[name][0, 3] - LEAD[0]
        assert float(np.abs(x - meant).max()) < 0.1


def test_nothing_is_put_together_without_a_pair_or_of_two_hulls(read: Read) -> None:
    fin = tuple(mount for mount in read.mounts if mount.guest == "fin")
    assert read.made(fin) is None
    apart = put_together(read.parts, read.found, (), read.mounts)  # no row: two hulls
    assert apart is None


def test_a_wing_without_a_seat_is_doubted(read: Read) -> None:
    rest = tuple(mount for mount in read.mounts if not mount.guest.startswith("wing"))
    found = read.made(rest)
    assert found is not None
    assert found.confidence < 0.8
    assert any("is larger than the panels that have a seat" in note for note in found.notes)


def seats_of(reading: ShapeReading) -> Mapping[str, Proposal]:
    return {one.mesh: one for one in reading.proposals if one.key == "seat"}


@pytest.mark.parametrize(
    "seed",
    [
        pytest.param(8, marks=pytest.mark.slow),
        pytest.param(20, marks=pytest.mark.slow),
        pytest.param(18, marks=pytest.mark.slow),
    ],
)
def test_kits_without_names_are_put_together(seed: int) -> None:
    """By the generator's own truth, up to one shift; a symmetric panel may be the one of the other side."""
    kit = mated_kit(seed, "numbers", "any")
    found = seats_of(read_shapes([KitMesh(part.file, part.mesh) for part in kit], ()))
    shift: np.ndarray | None = None
    for part in kit:
        if part.chain != "fuselage" or not part.order:
            continue
        values = np.array(found[part.file].value)
        middle = part.mesh.indexed[0].mean(axis=0)
        here = values[:9].reshape(3, 3) @ middle + values[9:]
        away = part.place[:3, :3] @ middle + part.place[:3, 3] - here
        shift = away if shift is None else shift
        assert float(abs(away[0] - shift[0])) < 0.5, part
    assert all(one.sure for one in found.values())
    assert {part.file for part in kit if part.chain} == set(found)
