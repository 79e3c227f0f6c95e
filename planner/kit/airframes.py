"""Whether the parts of more than one airframe lie in one folder."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import PurePosixPath

from planner.kit.ends import PartEnds

AIRFRAME = "airframe"  # the option whose choices they are
_PAIRS = 2  # of panels that come in two, on one airframe: wing and tail
_NAMED = 3


def several_airframes(parts: PartEnds, groups: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """A sentence where there are hulls that never fit each other, and wings and tails enough for each.

    A hull counts where two of its parts at least fit one another. Booms beside a pod have no panels of their
    own, so they make no second airframe. Common practice, no source.

    Parameters
    ----------
    groups : panels and lengths of hull that belong together
    """
    hulls = hulls_of(parts, groups)
    pairs = [own for own in groups if parts.figures[own[0]].kind == "panel" and _twice(parts, own)]
    count = min(len(hulls), len(pairs) // _PAIRS)
    if count < 2:
        return ()
    told = "; ".join(_listed(own) for own in sorted(hulls, key=len, reverse=True))
    return (
        f"parts of {count} airframes may lie in this folder: {len(hulls)} hulls never fit each other"
        f" ({told}), and {len(pairs)} pairs of panels neither; give each airframe a folder of its own",
    )


def split(
    hulls: Sequence[Sequence[str]], groups: Sequence[Sequence[str]], together: Sequence[Sequence[str]]
) -> dict[str, tuple[str, ...]]:
    """The parts of each airframe by its name, where it is clear whose they are; empty where it is not.

    Hulls that lie in sub-folders of their own divide all that lies there; else each is what was put together
    on one hull, and is called after its first part.

    Parameters
    ----------
    hulls : lengths of hull that fit one another, two and more
    groups : all panels and lengths of hull that belong together
    together : parts that were put together, one after the other from the hull's first part on
    """
    folders = [{_folder(name) for name in own} for own in hulls]
    if len(hulls) > 1 and all(len(own) == 1 for own in folders) and len(set.union(*folders)) == len(hulls):
        names = sorted(set.union(*folders))
        return dict.fromkeys(names, ()) if all(names) else {}
    large = {name for own in groups for name in own}
    if len(together) > 1 and large <= {name for own in together for name in own}:
        return {_stem(own[0]): tuple(own) for own in together}
    return {}


def split_note(groups: Mapping[str, Sequence[str]]) -> str:
    """What is told of airframes that lie in one folder and are choices now."""
    told = ", ".join(f"{name} ({len(own)} parts)" for name, own in groups.items())
    return (
        f"parts of {len(groups)} airframes lie in this folder: {told}; one is built at a time, by the option"
        f" {AIRFRAME}, or give each a folder of its own"
    )


def in_folders(groups: Mapping[str, Sequence[str]], names: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Groups that are told by their folders alone, filled with all that lies there."""
    every = list(names)
    return {
        key: tuple(own) or tuple(name for name in every if _folder(name) == key)
        for key, own in groups.items()
    }


def hulls_of(parts: PartEnds, groups: Sequence[Sequence[str]]) -> list[Sequence[str]]:
    """Hulls of which two parts at least fit one another."""
    return [own for own in groups if parts.figures[own[0]].kind == "body" and _different(parts, own) > 1]


def _folder(name: str) -> str:
    parents = PurePosixPath(name.partition("#")[0]).parts[:-1]
    return parents[0] if parents else ""


def _stem(name: str) -> str:
    file, _, inner = name.partition("#")
    return inner or PurePosixPath(file).stem


def _different(parts: PartEnds, own: Sequence[str]) -> int:
    return len({parts.kin[name].number for name in own})


def _twice(parts: PartEnds, own: Sequence[str]) -> bool:
    return _different(parts, own) < len(own)


def _listed(own: Sequence[str]) -> str:
    more = f" and {len(own) - _NAMED} more" if len(own) > _NAMED else ""
    return f"{', '.join(own[:_NAMED])}{more}"
