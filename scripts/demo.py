"""Plan the demo airframe: makes what is needed, plans, and says where the report is.

``--raw`` plans the meshes alone, as somebody drops them who has written nothing yet. ``--half-built`` plans
them, tells a ledger half of their build, and plans the rest from there.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from environment import ROOT, clean_environment, prepare

START = "2026-12-01T18:00"
OWN_WORDS = ("--raw", "--half-built")


def main() -> int:
    """Run the main job on the demo meshes; extra words go to ``planner plan``."""
    words = [word for word in sys.argv[1:] if word not in OWN_WORDS]
    interpreter = prepare()
    if "--half-built" in sys.argv[1:]:
        return half_built(str(interpreter), words)
    raw = "--raw" in sys.argv[1:]
    out = ROOT / "out" / ("demo-raw" if raw else "demo")
    folder = meshes_alone(ROOT / "out" / "meshes-alone") if raw else ROOT / "demo_meshes"
    code = plan(str(interpreter), folder, out, START, words)
    if code == 0 and raw:
        print(f"Draft the records that say more: planner new {folder}")
    return code


def plan(interpreter: str, folder: Path, out: Path, start: str, words: Sequence[str]) -> int:
    """Plan a folder from a moment on, and say where the report is."""
    command = [interpreter, "-m", "planner", "plan", str(folder), "--out", str(out)]
    command += ["--start", start, "--verify", *words]
    began = time.monotonic()
    done = subprocess.run(command, cwd=ROOT, check=False, env=clean_environment())
    if done.returncode == 0:
        print(f"\nPlanned in {time.monotonic() - began:.1f} s. Open {out / 'report.html'} in a browser.")
    return done.returncode


def half_built(interpreter: str, words: Sequence[str]) -> int:
    """Plan the demo in a folder of its own, tell what became of half of it, and plan the rest."""
    folder, out = ROOT / "out" / "half-built" / "glider", ROOT / "out" / "half-built" / "results"
    shutil.rmtree(folder.parent, ignore_errors=True)
    shutil.copytree(ROOT / "demo_meshes", folder)
    code = plan(interpreter, folder, out, START, words)
    if code:
        return code
    print("\nThe build goes on; somebody writes down what happens:\n", flush=True)
    command = [interpreter, str(ROOT / "scripts" / "half_built.py"), str(folder), str(out)]
    done = subprocess.run(
        command, cwd=ROOT, check=False, env=clean_environment(), stdout=subprocess.PIPE, text=True
    )
    if done.returncode:
        return done.returncode
    now = done.stdout.strip()
    print(f"\nIt is {now.replace('T', ' ')}. The plan goes on from the ledger:\n", flush=True)
    code = plan(interpreter, folder, out, now, words)
    if code == 0:
        print(f"What is next: planner today {folder} --plan {out} --at {now}")
        print(f"All facts: planner record list --in {folder}")
    return code


def meshes_alone(folder: Path) -> Path:
    """The demo meshes without the records beside them, in a folder that is made anew."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(ROOT / "demo_meshes", folder, ignore=shutil.ignore_patterns("*.toml"))
    return folder


if __name__ == "__main__":
    sys.exit(main())
