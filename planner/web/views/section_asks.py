"""What the sections of an airframe ask for, and the colours that there are to ask for."""

from __future__ import annotations

from dataclasses import dataclass

from planner.web.edits.edit_sections import sections_of
from planner.web.state import State


@dataclass(frozen=True, slots=True)
class Wishes:
    """Of one section, as the file has them; empty where it asks for nothing."""

    section: str
    colour: str
    one_lot: bool
    date: str

    @property
    def asks(self) -> bool:
        """Whether it asks for anything."""
        return bool(self.colour or self.one_lot or self.date)


def wishes_shown(state: State) -> list[Wishes]:
    """Every section, those of the build order first."""
    if state.records is None:
        return []
    frame = state.records.airframe
    return [
        Wishes(
            name,
            frame.section_colours.get(name, ""),
            name in frame.one_lot,
            str(frame.section_dates.get(name, "")),
        )
        for name in sections_of(state.records)
    ]


def colours_known(state: State) -> list[str]:
    """Colours on the shelf and those that are asked for, in the order of letters."""
    if state.records is None:
        return []
    frame, shop = state.records.airframe, state.records.workshop
    told = {frame.colour, *frame.section_colours.values(), *(spool.colour for spool in shop.spools)}
    return sorted(told - {""})
