"""What a builder should know of a mesh, in words."""

from __future__ import annotations

from planner.geometry.mesh.health import WELD_REACH, Health
from planner.io.meshes.raw_mesh import RawMesh
from planner.model.finding import Finding, Weight

_FAR_MM = 2000.0  # beyond any bed
_COARSE_STEP_MM = 0.01  # a step between stored coordinates that shows in a print


def health_findings(name: str, raw: RawMesh, health: Health) -> tuple[Finding, ...]:
    """Findings of one mesh: faults first, then doubts, then notes."""
    said = [*_gaps(health), *_bodies(health), *_mended(health), *_place(health, raw)]
    said += [("note", note[0].upper() + note[1:] + ".") for note in raw.notes]
    rank = {"fault": 0, "doubt": 1, "note": 2}
    said.sort(key=lambda entry: rank[entry[0]])
    return tuple(Finding(name, text, weight) for weight, text in said)


_Said = list[tuple[Weight, str]]


def _gaps(health: Health) -> _Said:
    said: _Said = []
    if health.open_edges:
        text = (
            f"{_many(health.open_edges, 'edge')} of the surface {_is(health.open_edges)} open; "
            "volume and mass are estimates. Close the holes in the CAD program."
        )
        said.append(("fault", text))
    if health.one_sided:
        said.append(
            ("fault", f"{_many(health.one_sided, 'edge')} join facets that cannot agree on an outside.")
        )
    if health.crowded_edges:
        weight: Weight = "note" if health.watertight else "fault"
        count = health.crowded_edges
        text = f"{_many(count, 'edge')} {_is(count)} shared by more than two facets"
        said.append((weight, text + ("; bodies touch there." if health.watertight else ".")))
    return said


def _bodies(health: Health) -> _Said:
    said: _Said = []
    if health.overlapping:
        verb = "overlaps" if health.overlapping == 1 else "overlap"
        text = (
            f"{_many(health.overlapping, 'pair')} of bodies {verb} in this mesh; "
            "the common space may be counted twice. Join the bodies in the CAD program."
        )
        said.append(("doubt", text))
    if health.swallowed:
        text = (
            f"{_many(health.swallowed, 'body', 'bodies')} wholly within the material of another "
            f"{_was(health.swallowed)} left out, adding nothing. A hollow needs facets that look into it."
        )
        said.append(("doubt", text))
    if not health.compared:
        text = f"The {health.bodies} bodies are too many to look for overlaps and hollows."
        said.append(("doubt", text))
    if health.cavities:
        count = health.cavities
        text = f"{_many(count, 'closed hollow')} inside the material {_is(count)} left empty."
        said.append(("note", text))
    if health.bodies > 1:
        said.append(("note", f"The mesh holds {health.bodies} bodies that do not hang together."))
    return said


def _mended(health: Health) -> _Said:
    said: _Said = []
    if health.inside_out:
        count = health.inside_out
        text = f"{_many(count, 'surface')} looked inward as a whole and {_was(count)} turned."
        said.append(("note", text))
    if health.turned:
        text = f"{_many(health.turned, 'facet')} looked the wrong way and {_was(health.turned)} turned."
        said.append(("note", text))
    removed = (
        (health.collapsed, "facet", "without area"),
        (health.repeated, "facet", "that lay upon another"),
        (health.twins, "facet", "that lay face to face with another"),
    )
    for count, thing, which in removed:
        if count:
            said.append(("note", f"{_many(count, thing)} {which} {_was(count)} removed."))
    if health.slivers:
        stay = "stays, as it holds" if health.slivers == 1 else "stay, as they hold"
        text = f"{_many(health.slivers, 'facet')} without area {stay} the surface shut."
        said.append(("note", text))
    if health.welded:
        count = health.welded
        text = f"{_many(count, 'corner')} within {WELD_REACH:g} mm of another {_was(count)} joined to it."
        said.append(("note", text))
    return said


def _place(health: Health, raw: RawMesh) -> _Said:
    said: _Said = []
    step = health.single_step
    if raw.single and step >= _COARSE_STEP_MM:
        text = (
            f"The part lies so far from the origin that its file keeps steps of {step:.2g} mm only. "
            "Export it again near the origin."
        )
        said.append(("doubt", text))
    elif health.distance > max(_FAR_MM, 10.0 * float(health.mesh.extents.max())):
        said.append(
            ("note", f"The part lies {health.distance:.0f} mm from the origin; only its shape is used.")
        )
    return said


def _many(count: int, one: str, several: str = "") -> str:
    return f"{count} {one if count == 1 else several or one + 's'}"


def _is(count: int) -> str:
    return "is" if count == 1 else "are"


def _was(count: int) -> str:
    return "was" if count == 1 else "were"
