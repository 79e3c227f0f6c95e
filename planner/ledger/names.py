"""Names as people write them: the nearest one that is meant, or a refusal that names what there is."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence

from planner.errors import RecordError

NEAR = 0.75  # share of likeness from which on a slip of the finger is forgiven
MOST_NAMED = 8


def nearest(written: str, known: Sequence[str], what: str, where: str = "planner record") -> str:
    """The name that is meant: the same, in other letters, its number or beginning alone, or one with a slip.

    Parameters
    ----------
    what : of what kind it is, for the refusal

    Raises
    ------
    RecordError
        where no name, or more than one, may be meant
    """
    if written in known:
        return written
    wanted = _plain(written)
    for likely in (
        [name for name in known if _plain(name) == wanted],
        [name for name in known if wanted.isdigit() and re.fullmatch(rf"\D*0*{int(wanted)}", name)],
        [name for name in known if wanted and _plain(name).startswith(wanted)],
    ):
        if len(likely) == 1:
            return likely[0]
        if likely:
            raise _refused(f"{written!r} may be more than one {what}.", likely, where)
    plain = {_plain(name): name for name in known}
    near = difflib.get_close_matches(wanted, plain, n=2, cutoff=NEAR)
    numbers = [re.findall(r"\d+", one) for one in (wanted, *near)]
    if near and numbers[0] == numbers[1] and (len(near) == 1 or _clearly(wanted, near)):
        return plain[near[0]]
    if not known:
        raise RecordError(f"there is no {what} {written!r}, and none at all.", where=where)
    best = [plain[one] for one in difflib.get_close_matches(wanted, plain, n=1, cutoff=0.4)]
    raise _refused(f"there is no {what} {written!r}.", [*best, *(n for n in known if n not in best)], where)


def _plain(name: str) -> str:
    return " ".join(re.findall(r"\w+", name.casefold().replace("_", " ")))


def _clearly(wanted: str, near: Sequence[str]) -> bool:
    """Whether the best of two is nearer by more than a letter could decide."""
    first, second = (difflib.SequenceMatcher(None, wanted, one).ratio() for one in near)
    return first - second > 0.05


def _refused(what: str, names: Sequence[str], where: str) -> RecordError:
    more = " ..." if len(names) > MOST_NAMED else ""
    return RecordError(what, where=where, next_step=f"Known: {', '.join(names[:MOST_NAMED])}{more}.")
