"""Several airframes in one plan: how their names are told apart, and what each of them comes to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from planner.model.airframe import Airframe, Fitting
from planner.model.budget import Balance, Mass
from planner.model.part import Part

BETWEEN = " / "  # stands between the name of an airframe and that of a part, section, mesh, stack or option


@dataclass(frozen=True, slots=True)
class AirframeSums:
    """One airframe of a plan of several: what it weighs, costs and takes, and when it is printed.

    ``minutes`` are its share of the print minutes, by those of its pieces on each bed; ``finish`` is when its
    last piece is printed, ``None`` where no bed is scheduled for it; ``late`` that this is after its date.
    ``cost_minor`` is its share of the total, ``by_kind_minor`` of each kind of cost.
    """

    airframe: Airframe
    mass: Mass
    balance: Balance
    pieces: int
    beds: tuple[str, ...]
    minutes: float
    finish: datetime | None
    late: bool
    cost_minor: int
    by_kind_minor: Mapping[str, int] = field(default_factory=dict)


def named_of(airframe: str, name: str) -> str:
    """A name of one airframe as the plan of several tells it."""
    return f"{airframe}{BETWEEN}{name}" if name else ""


def own_name(airframe: str, name: str) -> str:
    """The name as the airframe itself has it; of another airframe it is left as it is."""
    return name.removeprefix(f"{airframe}{BETWEEN}")


def told_apart(airframe: Airframe, copy_of: str = "", first: str = "") -> Airframe:
    """The airframe with its own name before that of each part, mesh, section, stack, option and fitting.

    Parameters
    ----------
    copy_of : what all copies are called, where there are several
    first : the first copy, where this is another one
    """

    def own(name: str) -> str:
        return named_of(airframe.name, name)

    def choice(option: tuple[str, str] | None) -> tuple[str, str] | None:
        return None if option is None else (own(option[0]), option[1])

    def part(one: Part) -> Part:
        return replace(
            one,
            name=own(one.name),
            mesh=own(one.mesh),
            section=own(one.section),
            other_section=own(one.other_section or "") or None,
            stack=None if one.stack is None else replace(one.stack, name=own(one.stack.name)),
            option=choice(one.option),
            airframe=airframe.name,
            like=named_of(first, one.name) if first else "",
        )

    def fitting(one: Fitting) -> Fitting:
        return replace(
            one,
            name=own(one.name),
            section=own(one.section),
            option=choice(one.option),
            joins=tuple(map(own, one.joins)),
        )

    finish = airframe.finish
    return replace(
        airframe,
        parts=tuple(map(part, airframe.parts)),
        fittings=tuple(map(fitting, airframe.fittings)),
        finish=replace(finish, painted=tuple(map(own, finish.painted))),
        options={own(key): value for key, value in airframe.options.items()},
        choices={own(key): value for key, value in airframe.choices.items()},
        sections=tuple(map(own, airframe.sections)),
        stacks=tuple(replace(row, name=own(row.name)) for row in airframe.stacks),
        section_dates={own(key): day for key, day in airframe.section_dates.items()},
        section_colours={own(key): colour for key, colour in airframe.section_colours.items()},
        one_lot=tuple(map(own, airframe.one_lot)),
        copy_of=copy_of,
    )


def together(members: Sequence[Airframe], name: str = "") -> Airframe:
    """One airframe that stands for several: their parts, those of the lowest ``priority`` first.

    Targets, balance and finish stay with each.
    """
    first = sorted(members, key=lambda one: one.priority)
    homes = [s for one in first for s in _sections(one)]
    return Airframe(
        name or told_together(members),
        tuple(part for one in members for part in one.parts),
        tuple(fitting for one in members for fitting in one.fittings),
        options={key: value for one in members for key, value in one.options.items()},
        choices={key: value for one in members for key, value in one.choices.items()},
        sections=tuple(dict.fromkeys(homes)),
        stacks=tuple(row for one in members for row in one.stacks),
        one_lot=tuple(name for one in members for name in one.one_lot),
        in_assembly_position=False,
        section_dates={key: day for one in members for key, day in one.section_dates.items()},
        section_colours={
            name: colour for one in members for name in _sections(one) if (colour := one.colour_of(name))
        },
        overlaps_mm={},
        members=tuple(members),
    )


def copies_of(airframe: Airframe) -> dict[str, tuple[str, ...]]:
    """The names of all copies by that of the first; empty where there is one of each."""
    rows: dict[str, list[str]] = {}
    for one in airframe.members:
        if one.copy_of:
            rows.setdefault(one.copy_of, []).append(one.name)
    return {names[0]: tuple(names) for names in rows.values()}


def told_together(members: Iterable[Airframe]) -> str:
    """The names, each kind once with how many copies there are of it."""
    counts: dict[str, int] = {}
    for one in members:
        counts[one.copy_of or one.name] = counts.get(one.copy_of or one.name, 0) + 1
    return " + ".join(name if n == 1 else f"{n} x {name}" for name, n in counts.items())


def is_late(finish: datetime | None, due: date | None) -> bool:
    """Whether something that is printed at that moment misses its day, on the clock of the workshop."""
    return finish is not None and due is not None and _day_of(finish) > due


def _day_of(finish: datetime) -> date:
    """The day that a moment belongs to; midnight is still that of the day that ends then."""
    return (finish - timedelta(microseconds=1)).date()


def _sections(airframe: Airframe) -> list[str]:
    """Every section in the build order: as listed, the others in the order of their parts."""
    names = [*airframe.sections, *(part.section for part in airframe.parts)]
    return [*names, *(part.other_section for part in airframe.parts if part.other_section)]
