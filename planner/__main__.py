"""``python -m planner`` does what the command ``planner`` does."""

import os
import sys


def run() -> None:
    """Entry point of the command; Ctrl-C is heard even while the program is still being read in."""
    try:
        _say_at_once(sys.argv[1:])
        from planner.cli.main import main

        main()
    except KeyboardInterrupt:
        sys.stderr.write("Stopped; nothing was written.\n")
        sys.stderr.flush()
        os._exit(130)


def _say_at_once(words: list[str]) -> None:
    """To a person who asks for a plan, before the program is read in, which takes a second."""
    if len(words) > 1 and words[0] == "plan" and words[1][:1] != "-" and sys.stderr and sys.stderr.isatty():
        name = "".join(c if c.isprintable() else "?" for c in words[1])
        sys.stderr.write(f"planning {name[:66]} ...\n")
        sys.stderr.flush()


if __name__ == "__main__":
    run()
