"""A look at the meshes as text for a terminal of 80 columns."""

from __future__ import annotations

import textwrap

from planner.model.mesh_check import FolderCheck, MeshCheck

WIDTH = 80


def check_text(check: FolderCheck) -> str:
    """One line a mesh, findings below it, then what was set aside and assumed."""
    count = len(check.meshes)
    lines = [f"{count} usable {'mesh' if count == 1 else 'meshes'}, {len(check.set_aside)} set aside", ""]
    if check.meshes:
        lines.append(f"{'mesh':<34} {'size mm':>20} {'cm3':>8} {'facets':>8}  fits")
    for mesh in check.meshes:
        lines += _mesh(mesh)
    for aside in check.set_aside:
        lines += _wrapped(f"set aside   {aside.mesh}: {aside.reason}")
    for finding in check.findings:
        lines += _wrapped(f"{finding.weight:<11} {finding.about}: {finding.text}")
    for assumption in check.assumptions:
        lines += _wrapped(f"assumed     {assumption}")
    return "\n".join(lines)


def _mesh(mesh: MeshCheck) -> list[str]:
    size = " x ".join(f"{value:.1f}" for value in mesh.extents_mm)
    name = mesh.mesh if len(mesh.mesh) <= 34 else mesh.mesh[:31] + "..."
    fits = "no" if mesh.misfit else "yes"
    lines = [f"{name:<34} {size:>20} {mesh.solid_volume_cm3:>8.1f} {mesh.triangles:>8}  {fits}"]
    if mesh.misfit is not None:
        short = mesh.misfit
        lines += _wrapped(f"  fits nowhere: {short.reason}; {short.proposal}")
    for finding in mesh.findings:
        lines += _wrapped(f"  {finding.weight}: {finding.text}")
    return lines


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent="    ") or [""]
