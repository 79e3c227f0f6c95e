"""Machine files that were read back, as facts tell them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from planner.ledger.fact import FAILED, READ_BACK, TAKEN_BACK, Fact
from planner.model.learned import FileFigures
from planner.model.replan import EarlierPlan

KINDS = (READ_BACK, FAILED, TAKEN_BACK)  # all that tells which file a bed goes by


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


@dataclass(frozen=True, slots=True)
class FilesSince:
    """By bed of a plan the file that the plan goes by, and the one that was taken last."""

    in_plan: Mapping[str, FileFigures]
    by_now: Mapping[str, FileFigures]

    def of_piece(self, told: Mapping[str, Any]) -> FileFigures | None:
        """The file by which a piece of a weighing was laid; ``told`` is what is kept of the piece."""
        return _laid_by(self.by_now, told)

    def held(self, told: Mapping[str, Any], supports_on: bool) -> dict[str, Any]:
        """What is kept of a weighed piece, its grams by the file of now; those of the plan are by its own."""
        was, now = (_share(_laid_by(files, told)) for files in (self.in_plan, self.by_now))
        flying = float(told["flying_g"]) * now / was
        whole = float(told["predicted_g"]) * now if supports_on else flying  # with support: by tables alone
        return {**told, "flying_g": flying, "predicted_g": whole}


def files_since(facts: Sequence[Fact], plan: EarlierPlan) -> FilesSince:
    """The files of a plan, by all facts of ``KINDS``, those that were taken back included.

    A bed that failed since the plan was laid by its file all the same.
    """
    last = plan.taught.facts
    back = {fact.takes_back: fact.seq for fact in facts if fact.kind == TAKEN_BACK}
    then = [fact for fact in facts if fact.seq <= last and back.get(fact.uid, last + 1) > last]
    now = [fact for fact in facts if fact.uid not in back and not (fact.kind == FAILED and fact.seq > last)]
    return FilesSince(files_of(then, plan.airframe, plan.series), files_of(now, plan.airframe, plan.series))


def _laid_by(files: Mapping[str, FileFigures], told: Mapping[str, Any]) -> FileFigures | None:
    one = files.get(str(told["bed"]))
    return one if one is not None and told["piece"] in one.pieces else None


def _share(file: FileFigures | None) -> float:
    return 1.0 if file is None else file.share


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
