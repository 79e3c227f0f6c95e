"""What was found in a raw kit, in a few lines for the terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from planner.kit.proposal import Proposal
from planner.kit.questions import questions_of
from planner.kit.reading import ORDER
from planner.kit.stacks import RawKit


def sure_lines(found: Sequence[Proposal]) -> tuple[str, ...]:
    """What is taken as it was found, by key, each mesh with its reason where it is left out."""
    sure = [one for one in found if one.sure]
    sections = _counted(_sections(sure))
    told = [f"sections {sections}"] if sections else []
    told += [f"{one.mesh} is not printed, {one.reason}" for one in sure if one.key == "copies"]
    for key in ("recipe", "filament"):
        by_value: dict[str, list[str]] = {}
        for one in sure:
            if one.key == key:
                by_value.setdefault(str(one.value), []).append(one.mesh)
        told += [f"{key} {value} for {', '.join(meshes)}" for value, meshes in by_value.items()]
    return tuple(told)


def kit_lines(kit: RawKit, meshes: int) -> tuple[str, ...]:
    """Sections with their meshes, what is left out, options, stacks, and how much is not sure."""
    sure = [one for one in kit.proposals if one.sure]
    sections = _sections(sure)
    out = [one.mesh for one in sure if one.key == "copies"]
    options: dict[str, list[str]] = {}
    for one in sure:
        if one.key == "option" and isinstance(one.value, tuple):
            options.setdefault(str(one.value[0]), []).append(str(one.value[1]))
    unsure = len(questions_of(kit))
    named = _counted(sections)
    rest = meshes - sum(sections.values())
    lines = [
        f"{meshes} meshes: {named or 'no section is named'}"
        + (f", {rest} of no section" if named and rest else "")
    ]
    lines += [f"option {name}: {', '.join(dict.fromkeys(values))}" for name, values in options.items()]
    places = Counter(
        one.value[0] for one in kit.proposals if one.key == "stack" and isinstance(one.value, tuple)
    )
    for row in kit.stacks:
        lines.append(
            f"stack {row.name}: {places[row.name]} parts that fit one on the other"
            + ("" if row.sure else ", start not known")
        )
    lines += kit.notes
    lines += [f"left out (copies = 0): {', '.join(out)}"] if out else []
    if unsure:
        lines.append(
            f'{"1 question" if unsure == 1 else f"{unsure} questions"}, marked "not sure" in airframe.toml'
        )
    return tuple(lines)


def _sections(sure: Sequence[Proposal]) -> Counter[str]:
    return Counter(str(one.value) for one in sure if one.key == "section")


def _counted(sections: Counter[str]) -> str:
    return ", ".join(f"{sections[name]} {name}" for name in ORDER if name in sections)
