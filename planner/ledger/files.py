"""Machine files that were read back, as facts tell them."""

from __future__ import annotations

from collections.abc import Iterable

from planner.ledger.fact import FAILED, READ_BACK, Fact
from planner.model.learned import FileFigures


def files_of(facts: Iterable[Fact], airframe: str, series: str) -> dict[str, FileFigures]:
    """By bed of a series of plans the figures of the file that was read last; a bed that failed has none."""
    found: dict[str, FileFigures] = {}
    for fact in facts:
        if fact.airframe != airframe or fact.data.get("series") != series:
            continue
        if fact.kind == READ_BACK:
            found[fact.about] = figures_of(fact)
        elif fact.kind == FAILED:
            found.pop(fact.about, None)
    return found


def all_files(facts: Iterable[Fact]) -> list[FileFigures]:
    """Of every bed of every airframe the file that was read last."""
    last = {
        (fact.airframe, str(fact.data.get("series")), fact.about): fact
        for fact in facts
        if fact.kind == READ_BACK
    }
    return [figures_of(fact) for fact in last.values()]


def figures_of(fact: Fact) -> FileFigures:
    """The figures that a fact keeps."""
    data = fact.data
    return FileFigures(
        str(data["file"]),
        float(data["grams"]),
        float(data["minutes"]),
        float(data["grams"]) / float(data["tables_g"]),
        float(data["minutes"]) / float(data["tables_minutes"]),
        tuple(str(piece) for piece in data["pieces"]),
        str(data["filament"]),
        str(data["printer"]),
    )
