"""Plan the demo airframe: makes what is needed, plans, and says where the report is."""

from __future__ import annotations

import subprocess
import sys
import time

from environment import ROOT, clean_environment, prepare


def main() -> int:
    """Run the main job on the demo meshes; extra words go to ``planner plan``."""
    interpreter = prepare()
    out = ROOT / "out" / "demo"
    command = [str(interpreter), "-m", "planner", "plan", str(ROOT / "demo_meshes"), "--out", str(out)]
    command += ["--start", "2026-12-01T18:00", "--verify", *sys.argv[1:]]
    began = time.monotonic()
    done = subprocess.run(command, cwd=ROOT, check=False, env=clean_environment())
    if done.returncode == 0:
        print(f"\nPlanned in {time.monotonic() - began:.1f} s. Open {out / 'report.html'} in a browser.")
    return done.returncode


if __name__ == "__main__":
    sys.exit(main())
