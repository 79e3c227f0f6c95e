"""Random trials that look for what breaks: ``python3 scripts/campaign.py KIND --cases N --seed S [--json]``.

``mutate`` changes meshes, ``folders`` plans folders with an odd file, ``kills`` ends plans at any moment,
``builds`` lives builds through to the last bed while random things happen.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))


def main() -> int:
    """Run the cases; the exit code is 1 where one failed."""
    from tests.campaign.builds import case as build_case
    from tests.campaign.command import folder_case, kill_case
    from tests.campaign.mutate import case

    kinds = {"mutate": case, "folders": folder_case, "kills": kill_case, "builds": build_case}
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("kind", choices=tuple(kinds))
    words.add_argument("--cases", type=int, default=100)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--json", action="store_true")
    asked = words.parse_args()
    found = [kinds[asked.kind](number, asked.seed) for number in range(asked.cases)]
    failed = [one for one in found if one.fault]
    reached: dict[str, int] = {}
    for one in found:
        reached[one.reached] = reached.get(one.reached, 0) + 1
    told = {
        "kind": asked.kind,
        "cases": len(found),
        "seed": asked.seed,
        "reached": reached,
        "slowest_s": round(max((one.seconds for one in found), default=0.0), 2),
        "seconds": round(sum(one.seconds for one in found), 1),
        "failed": [asdict(one) for one in failed],
    }
    if asked.json:
        print(json.dumps(told, indent=1))
    else:
        print(f"{len(found)} cases of {asked.kind}, seed {asked.seed}: {len(failed)} failed; {reached}")
        for one in failed:
            print(f"  case {one.number}, {one.what}: {one.fault}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
