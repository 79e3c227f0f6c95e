"""Make ``planner/report/plan.schema.json`` of the record of ``plan.json``; ``--check`` only compares.

Ends with 1 where the published file is not what the record gives.
"""

from __future__ import annotations

import sys
from pathlib import Path

from environment import ROOT

PUBLISHED = ROOT / "planner" / "report" / "plan.schema.json"


def main() -> int:
    """Write the schema, or say that it is to be written."""
    from planner.plan_record.schema import schema_text

    made, was = schema_text(), PUBLISHED.read_text(encoding="utf-8")
    if "--check" in sys.argv[1:]:
        print(
            "as the record gives it" if made == was else "not as the record gives it: run scripts/schema.py"
        )
        return int(made != was)
    PUBLISHED.write_text(made, encoding="utf-8")
    print(f"{PUBLISHED.relative_to(ROOT)}: {'as it was' if made == was else 'made anew'}")
    return 0


if __name__ == "__main__":
    from environment import prepare, python

    if Path(sys.prefix) != python().parent.parent:
        import subprocess

        sys.exit(subprocess.run([str(prepare("test")), __file__, *sys.argv[1:]], check=False).returncode)
    sys.exit(main())
