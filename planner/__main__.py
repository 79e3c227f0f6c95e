"""``python -m planner`` does what the command ``planner`` does."""

import os
import sys


def run() -> None:
    """Entry point of the command; Ctrl-C is heard even while the program is still being read in."""
    try:
        from planner.cli.main import main

        main()
    except KeyboardInterrupt:
        sys.stderr.write("Stopped; nothing was written.\n")
        sys.stderr.flush()
        os._exit(130)


if __name__ == "__main__":
    run()
