"""Plan the demo airframe: makes what is needed, plans, and says where the report is.

``--raw`` plans the meshes alone, as somebody drops them who has written nothing yet.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from pathlib import Path

from environment import ROOT, clean_environment, prepare


def main() -> int:
    """Run the main job on the demo meshes; extra words go to ``planner plan``."""
    words = [word for word in sys.argv[1:] if word != "--raw"]
    raw = "--raw" in sys.argv[1:]
    interpreter = prepare()
    out = ROOT / "out" / ("demo-raw" if raw else "demo")
    folder = meshes_alone(ROOT / "out" / "meshes-alone") if raw else ROOT / "demo_meshes"
    command = [str(interpreter), "-m", "planner", "plan", str(folder), "--out", str(out)]
    command += ["--start", "2026-12-01T18:00", "--verify", *words]
    began = time.monotonic()
    done = subprocess.run(command, cwd=ROOT, check=False, env=clean_environment())
    if done.returncode == 0:
        print(f"\nPlanned in {time.monotonic() - began:.1f} s. Open {out / 'report.html'} in a browser.")
        if raw:
            print(f"Draft the records that say more: planner new {folder}")
    return done.returncode


def meshes_alone(folder: Path) -> Path:
    """The demo meshes without the records beside them, in a folder that is made anew."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(ROOT / "demo_meshes", folder, ignore=shutil.ignore_patterns("*.toml"))
    return folder


if __name__ == "__main__":
    sys.exit(main())
