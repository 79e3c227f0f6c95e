"""Random trials that look for what breaks: ``python3 scripts/campaign.py KIND --cases N --seed S --jobs J``.

The kinds stand in ``tests/campaign/kinds.py``; ``--first N`` begins at a later case, so that one case is run
again by ``--first N --cases 1``. The same seed gives the same cases, however many processes run them.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.campaign.case import Case
from tests.campaign.keep import keep_in
from tests.campaign.kinds import KINDS
from tests.campaign.run import run

TELL_EVERY_S = 60.0


def main() -> int:
    """Run the cases; the exit code is 1 where one failed."""
    asked = _asked()
    if asked.keep:
        keep_in()
    began = time.monotonic()
    numbers = range(asked.first, asked.first + asked.cases)
    found = _told(run(KINDS[asked.kind], numbers, asked.seed, asked.jobs), len(numbers))
    told = _summary(found, asked, time.monotonic() - began)
    if asked.json:
        print(json.dumps(told, indent=1))
    else:
        print(f"{len(found)} cases of {asked.kind}, seed {asked.seed}: {len(told['failed'])} failed")
        print(f"{told['wall_s']} s by the clock, {told['cpu_s']} s of the processor; {told['reached']}")
        for one in told["failed"]:
            print(f"  case {one['number']}, {one['what']}: {one['fault']}")
    return 1 if told["failed"] else 0


def _asked() -> argparse.Namespace:
    words = argparse.ArgumentParser(
        description=__doc__,
        epilog="\n".join(f"{kind.name}: {kind.words}" for kind in KINDS.values()),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    words.add_argument("kind", choices=tuple(KINDS))
    words.add_argument("--cases", type=int, default=100)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--first", type=int, default=0, help="number of the first case")
    words.add_argument("--jobs", type=int, default=1, help="processes beside each other")
    words.add_argument("--json", action="store_true")
    words.add_argument(
        "--keep", action="store_true", help="keep small cases of what fails in tests/fault/cases"
    )
    asked = words.parse_args()
    if asked.keep and not KINDS[asked.kind].keeps:
        kinds = ", ".join(kind.name for kind in KINDS.values() if kind.keeps)
        words.error(f"--keep: {asked.kind} keeps nothing; these do: {kinds}")
    return asked


def _told(cases: Iterable[Case], many: int) -> list[Case]:
    """All cases by number; each fault at once, and now and then how far it is, to the terminal."""
    found: list[Case] = []
    began = told = time.monotonic()
    for case in cases:
        found.append(case)
        if case.fault:
            print(f"case {case.number}, {case.what}: {case.fault}", file=sys.stderr, flush=True)
        if (now := time.monotonic()) - told > TELL_EVERY_S:
            told = now
            failed = sum(bool(one.fault) for one in found)
            print(
                f"{len(found)} of {many}, {failed} failed, {now - began:.0f} s", file=sys.stderr, flush=True
            )
    return sorted(found, key=lambda case: case.number)


def _summary(found: list[Case], asked: argparse.Namespace, wall: float) -> dict[str, Any]:
    return {
        "kind": asked.kind,
        "cases": len(found),
        "seed": asked.seed,
        "first": asked.first,
        "jobs": asked.jobs,
        "reached": dict(sorted(Counter(case.reached for case in found).items())),
        "slowest_s": round(max((case.seconds for case in found), default=0.0), 2),
        "seconds": round(sum(case.seconds for case in found), 1),
        "wall_s": round(wall, 1),
        "cpu_s": round(_processor(), 1),
        "failed": [asdict(case) for case in found if case.fault],
    }


def _processor() -> float:
    """Seconds of the processor, of this process and of all that it started; only of this one on Windows."""
    try:
        import resource
    except ImportError:
        return time.process_time()
    both = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(used.ru_utime + used.ru_stime for used in both)


if __name__ == "__main__":
    sys.exit(main())
