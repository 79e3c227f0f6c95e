"""A raw kit read: for each mesh what it seems to be, as proposals with reason and confidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.geometry.mesh.measure import area, volume
from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.alternatives import choices, superseded
from planner.kit.naming import NameEvidence, Told, name_evidence
from planner.kit.proposal import Proposal, Value
from planner.model.hand import Hand

ORDER = ("fuselage", "wing", "left wing", "right wing", "tail")  # in which sections are glued up
DRAWN_WALL_MM = (0.3, 0.9)  # mean wall of a mesh that is drawn as a skin of one bead
_LONG_MM = 40.0  # a smaller thin part is a clip or a cap rather than a skin
_SKIN, _FOAMED, _LATER, _JIG, _TRIAL, _MOUNT, _SOFT = 0.85, 0.85, 0.85, 0.7, 0.85, 0.85, 0.7


@dataclass(frozen=True, eq=False, slots=True)
class KitMesh:
    """A mesh of the kit, with the hand that its name tells.

    Parameters
    ----------
    name : POSIX path within the folder, ``#object`` where the file holds several
    mesh : in mm
    hand, mirror : as its name tells: which hand it is, and whether the other is made from its mirror image
    """

    name: str
    mesh: TriangleMesh
    hand: Hand = "none"
    mirror: bool = False


def read_kit(
    meshes: Sequence[KitMesh], unwanted: Mapping[str, tuple[str, float]] | None = None
) -> tuple[Proposal, ...]:
    """Proposals in the order of the meshes; a mesh of which nothing was found has none.

    Parameters
    ----------
    unwanted : meshes that other evidence takes for not to be printed: why, and how sure that is
    """
    evidence = {one.name: name_evidence(one.name) for one in meshes}
    out = {**_unwanted(evidence), **(unwanted or {})}
    for mesh, (later, why) in superseded(evidence).items():
        if later not in out:
            out.setdefault(mesh, (why, _LATER))
    left = {name: told for name, told in evidence.items() if name not in out}
    optional = {choice.mesh: choice for choice in choices(left)}
    found: list[Proposal] = []
    for one in meshes:
        if one.name in out:
            why, sure = out[one.name]
            found.append(Proposal(one.name, "copies", 0, why, sure))
        found += _sections(one, evidence[one.name].section)
        found += _makes(one, evidence[one.name])
        if (choice := optional.get(one.name)) is not None:
            value: Value = (choice.option, choice.choice)
            found.append(Proposal(one.name, "option", value, choice.reason, choice.confidence))
    return tuple(found)


def in_order(names: Sequence[str], found: Sequence[Proposal]) -> tuple[Proposal, ...]:
    """Proposals mesh by mesh in the order of the names, those of one mesh as they came."""
    place = {name: at for at, name in enumerate(names)}
    return tuple(sorted(found, key=lambda one: place[one.mesh]))


def sections_in_order(found: Sequence[Proposal]) -> tuple[str, ...]:
    """The sections that are sure, in the order in which they are glued up."""
    keys = ("section", "other_section")
    named = {str(one.value) for one in found if one.key in keys and one.sure}
    return tuple(name for name in ORDER if name in named)


def _sections(one: KitMesh, told: Told | None) -> list[Proposal]:
    if told is None:
        return []
    sided = told.value == "wing" and one.hand != "none"
    own = f"{one.hand} wing" if sided else told.value
    found = [Proposal(one.name, "section", own, told.reason, told.confidence)]
    if sided and one.mirror:
        other = "right wing" if one.hand == "left" else "left wing"
        found.append(
            Proposal(one.name, "other_section", other, "where its mirror image belongs", told.confidence)
        )
    return found


def _makes(one: KitMesh, told: NameEvidence) -> list[Proposal]:
    """Recipe and filament by what the name says, and by how thick the mesh is drawn."""
    found: list[Proposal] = []
    wall = 2.0 * abs(volume(one.mesh)) / max(area(one.mesh), 1e-9)
    kind, filament = told.kind, told.filament
    if kind is not None and kind.value == "motor mount":
        found.append(Proposal(one.name, "recipe", "motor mount", kind.reason, _MOUNT))
        found.append(Proposal(one.name, "near_motor", True, kind.reason, _MOUNT))
    elif kind is not None and kind.value in ("hinge", "tyre") and filament is None:
        found.append(Proposal(one.name, "filament", "TPU", f"{kind.reason}: soft ones bend", _SOFT))
    elif filament is not None and filament.value == "foaming PLA":
        found.append(Proposal(one.name, "recipe", "foamed skin", filament.reason, _FOAMED))
    elif (
        filament is None
        and DRAWN_WALL_MM[0] <= wall <= DRAWN_WALL_MM[1]
        and float(one.mesh.extents.max()) >= _LONG_MM
    ):
        found.append(
            Proposal(one.name, "recipe", "skin", f"drawn with walls of {wall:.2f} mm on the average", _SKIN)
        )
    if filament is not None:
        found.append(Proposal(one.name, "filament", filament.value, filament.reason, filament.confidence))
    return found


def _unwanted(evidence: Mapping[str, NameEvidence]) -> dict[str, tuple[str, float]]:
    """Jigs and trial pieces: printed apart, for they do not fly."""
    found: dict[str, tuple[str, float]] = {}
    for mesh, told in evidence.items():
        if told.kind is not None and told.kind.value == "jig":
            found[mesh] = (f"{told.kind.reason}: a jig does not fly; it can be printed apart", _JIG)
        elif told.kind is not None and told.kind.value == "trial":
            found[mesh] = (f"{told.kind.reason}: a trial piece does not fly", _TRIAL)
    return found
