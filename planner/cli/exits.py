"""Exit codes, and the one place where errors become messages."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from typing import NoReturn

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
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(DONE)
    except Exception:
        traceback.print_exc()
        leave("This is a bug of the planner. Please report it with the lines above.", BUG)


def leave(message: str, code: int) -> NoReturn:
    """Print to standard error and end with a code."""
    print(printable(message), file=sys.stderr)  # noqa: T201
    if code == INTERRUPTED:
        # The interpreter would die of the signal once more on its way out, and wait for threads.
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
    sys.exit(code)


def printable(text: str) -> str:
    """Text for a terminal: control characters of foreign names are shown, not obeyed."""
    safe = "".join(c if c == "\n" or c.isprintable() else f"\\x{ord(c):02x}" for c in text)
    encoding = sys.stdout.encoding or "utf-8"
    return safe.encode(encoding, "replace").decode(encoding)
