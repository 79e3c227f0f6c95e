"""Exit codes, and the one place where errors become messages."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import NoReturn

from planner.cli.streams import Deaf
from planner.errors import Infeasible, InputError, MissingExtra, PlanFault

DONE = 0
DONE_WITH_GAPS = 1  # some mesh was set aside, or some piece fits nowhere
BAD_INPUT = 2
NO_PLAN = 3
BUG = 70
INTERRUPTED = 130


@contextmanager
def told() -> Iterator[None]:
    """Print planned errors as one message; anything else is a bug and shows where it happened."""
    try:
        yield
    except (InputError, MissingExtra) as error:
        leave(str(error), BAD_INPUT)
    except Infeasible as error:
        leave(str(error), NO_PLAN)
    except PlanFault as error:
        leave(str(error), BUG)
    except KeyboardInterrupt:
        leave("Stopped; nothing was written.", INTERRUPTED)
    except Exception:
        say(traceback.format_exc(), to_errors=True)
        leave("This is a bug of the planner. Please report it with the lines above.", BUG)


def leave(message: str, code: int) -> NoReturn:
    """Print to standard error and end with a code."""
    say(printable(message), to_errors=True)
    if code == INTERRUPTED:
        os._exit(code)  # else the signal comes again on the way out
    sys.exit(code)


def say(text: str, *, end: str = "\n", to_errors: bool = False) -> None:
    """Print, if somebody can still hear it; what was done counts either way, as does the exit code.

    A stream that is closed, a reader that went away, a disk that is full: no more is said on that stream.
    """
    stream = sys.stderr if to_errors else sys.stdout
    try:
        stream.write(text + end)
        stream.flush()
    except UnicodeError:
        raise
    except (OSError, ValueError):
        setattr(sys, "stderr" if to_errors else "stdout", Deaf())
        with suppress(OSError, ValueError):  # what the stream still holds would be tried again at the end
            nobody = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nobody, stream.fileno())
            os.close(nobody)


def printable(text: str) -> str:
    """Text for a terminal: control characters of foreign names are shown, not obeyed."""
    safe = "".join(c if c == "\n" or c.isprintable() else f"\\x{ord(c):02x}" for c in text)
    encoding = sys.stdout.encoding or "utf-8"
    return safe.encode(encoding, "replace").decode(encoding)
