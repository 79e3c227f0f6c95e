"""What wants a decision before it is printed: one source for the first sheet and the web page."""

from __future__ import annotations

from collections.abc import Iterable

from planner.report.lookup import Lookup


def decisions(look: Lookup) -> list[str]:
    """What somebody has to look at: misfits, what is set aside, faults, doubts, gravest first."""
    plan = look.plan
    told = [f"{m.piece} fits no bed: {m.reason}. {m.proposal}" for m in plan.misfits]
    told += [f"{s.mesh} is set aside and in no total: {s.reason}" for s in plan.set_aside]
    told += [f"{f.about}: {f.text}" for f in look.findings if f.weight != "note"]
    return told


def told_together(said: Iterable[tuple[str, str]]) -> list[str]:
    """Sentences about things, each sentence once with all that it is said about."""
    found: dict[str, list[str]] = {}
    for about, text in said:
        found.setdefault(text, []).append(about)
    return [f"{', '.join(dict.fromkeys(names))}: {text}" for text, names in found.items()]
