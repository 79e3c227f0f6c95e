"""Make the meshes of the demo airframe, an invented shoreline survey glider of 1.5 m span.

Usage: python scripts/make_demo.py [--out DIR] [NAME ...]

The records ``airframe.toml`` and ``workshop.toml`` beside the meshes are kept by hand. Needs the
boolean library manifold3d. The same version of it on the same kind of machine gives the same bytes.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from demo_shapes.catalogue import CATALOGUE, contents
from demo_shapes.solid import Body

HERE = Path(__file__).resolve().parent.parent / "demo_meshes"


def make(name: str) -> tuple[bytes, dict[str, Body]]:
    """The bytes of one file and the bodies in it, each a single closed solid.

    Raises
    ------
    ValueError
        when a body is empty or falls into several
    """
    bodies = CATALOGUE[name]()
    for label, body in bodies.items():
        solids = len(body.decompose())
        if solids != 1:
            raise ValueError(f"{name} {label}: one solid was wanted, {solids} came out")
    return contents(name, bodies), bodies


def line(name: str, data: bytes, bodies: dict[str, Body]) -> str:
    """One row of the table that is printed."""
    rows = []
    for label, body in bodies.items():
        box = body.bounding_box()
        size = " x ".join(f"{box[i + 3] - box[i]:6.1f}" for i in range(3))
        title = f"{name}#{label}" if label else name
        rows.append(f"{title:34s} {body.num_tri():6d} {size}  {body.volume() / 1000.0:8.2f}  {len(data):8d}")
    return "\n".join(rows)


def main() -> None:
    """Write the files and print what they hold."""
    parser = argparse.ArgumentParser(description="Make the meshes of the demo airframe.")
    parser.add_argument("names", nargs="*", metavar="NAME", help="only these files")
    parser.add_argument("--out", type=Path, default=HERE, help="folder to write to (default: demo_meshes)")
    wanted = parser.parse_args()
    unknown = sorted(set(wanted.names) - set(CATALOGUE))
    if unknown:
        parser.error(f"no such file: {', '.join(unknown)}. Known: {', '.join(CATALOGUE)}.")
    wanted.out.mkdir(parents=True, exist_ok=True)
    print(f"{'file':34s} {'facets':>6s} {'size mm':24s}  {'cm3':>8s}  {'bytes':>8s}")
    total = 0
    for name in wanted.names or CATALOGUE:
        data, bodies = make(name)
        (wanted.out / name).write_bytes(data)
        total += len(data)
        print(line(name, data, bodies))
    print(f"{total / 1e6:.2f} MB in all")


if __name__ == "__main__":
    main()
