"""Colours that sections ask for: each is a filament by itself, with its own spools and beds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.errors import RecordError
from planner.model.airframe import Airframe
from planner.model.filament import Spool
from planner.model.part import Part
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.pipeline.job import Job

if TYPE_CHECKING:
    from planner.model.replan import EarlierPlan

Pair = tuple[str, str]  # a stock item and a colour
NOTE = "colours: "  # how what is assumed of them begins


def coloured(job: Job, earlier: EarlierPlan | None = None) -> Job:
    """The job with a filament for each colour of each stock item that is asked for.

    Its pieces are printed in that, and spools of the colour hold that; all others hold the stock item, and
    serve pieces that any colour will do for. Where the shelf lists no other spool of a stock item, these
    pieces go with the colour that it holds most of; in a plan that goes on they stay as they were. Without
    a colour that is asked for the job is what it was. Done twice, it is as done once.

    Raises
    ------
    RecordError
        where both hands of a part lie in sections of two colours, or a filament has the name that a
        colour of another would get
    """
    told = {part.name: _asked(job.airframe, part) for part in job.airframe.parts}
    plain = _plain(job.workshop)
    stock = {
        part.name: plain.filament(_stock(job.workshop, part.filament)).name for part in job.airframe.parts
    }
    pairs = {(stock[name], colour) for name, colour in told.items() if colour}
    before = {} if earlier is None else earlier.filaments
    pairs |= {(one.of, one.colour) for one in before.values() if one.of}
    pairs = {pair for pair in pairs if any(f.name == pair[0] for f in plain.filaments)}
    if not pairs:
        return job
    free = [part for part in job.airframe.parts if not told[part.name] and _printed(job.airframe, part)]
    taken, notes = _of_free(free, stock, pairs, plain, earlier)
    asked = {name: colour or taken.get(name, "") for name, colour in told.items()}
    more = {
        (name, asked[part.name])
        for part in job.airframe.parts
        for name in part.allowed_filaments
        if asked[part.name] and any(f.name == name for f in plain.filaments)
    }
    workshop = _with_colours(plain, sorted(pairs | more))
    names = {(one.of, one.colour): one.name for one in workshop.filaments if one.of}
    filament = {name: names.get((stock[name], colour), stock[name]) for name, colour in asked.items()}
    kept = [note for note in job.assumptions if not note.startswith(NOTE)]
    return replace(
        job,
        airframe=_airframe(job.airframe, filament),
        workshop=workshop,
        assumptions=(*kept, *notes),
    )


def _asked(airframe: Airframe, part: Part) -> str:
    """The colour of the sections of a part; both hands are one design, printed in one filament."""
    sections = [part.section]
    if part.mirror and part.other_section:
        sections.append(part.other_section)
    colours = list(dict.fromkeys(airframe.colour_of(section) for section in sections))
    if len(colours) > 1:
        said = " and ".join(f"{section!r} {airframe.colour_of(section) or 'in none'}" for section in sections)
        raise RecordError(
            f"part {part.name!r} is printed in both hands, and its sections ask for {said}.",
            where="section_colours",
            next_step="Ask for one colour in both, or give the other hand a mesh and a [[part]] of its own.",
        )
    return colours[0]


def _printed(airframe: Airframe, part: Part) -> bool:
    return part.copies > 0 and airframe.chosen(part.option)


def _stock(workshop: Workshop, name: str) -> str:
    return next((one.stock for one in workshop.filaments if one.name == name), name)


def _plain(workshop: Workshop) -> Workshop:
    """The workshop as it was told, before any colour was asked for."""
    return replace(
        workshop,
        filaments=tuple(one for one in workshop.filaments if not one.of),
        spools=tuple(replace(one, filament=_stock(workshop, one.filament)) for one in workshop.spools),
        printers=tuple(
            replace(
                one,
                loaded=None if one.loaded is None else _stock(workshop, one.loaded),
                filaments=tuple(dict.fromkeys(_stock(workshop, name) for name in one.filaments)),
            )
            for one in workshop.printers
        ),
    )


def _of_free(
    free: Iterable[Part],
    stock: Mapping[str, str],
    pairs: set[Pair],
    workshop: Workshop,
    earlier: EarlierPlan | None,
) -> tuple[dict[str, str], list[str]]:
    """Colours of pieces that ask for none, where the shelf has nothing else; and what is said of it."""
    taken: dict[str, str] = {}
    said: dict[Pair, None] = {}
    known = {} if earlier is None else earlier.parts
    was = {} if earlier is None else {name: one.colour for name, one in earlier.filaments.items()}
    known = known if any(was.values()) else {}  # no colour was asked for then
    for part in free:
        name = stock[part.name]
        if part.name in known:
            colour = was.get(known[part.name].filament, "")
        else:
            colour = _only(name, [one for one in workshop.spools if one.filament == name], pairs)
        if colour and (name, colour) in pairs:
            taken[part.name] = colour
            said[name, colour] = None
    notes = [
        f"{NOTE}pieces of {name} that ask for none are printed in {colour}, of which the shelf holds most"
        for name, colour in said
    ]
    return taken, notes


def _only(name: str, shelf: Iterable[Spool], pairs: set[Pair]) -> str:
    """The colour with the most grams, where every spool has one that is asked for; else none."""
    grams: dict[str, float] = {}
    for spool in shelf:
        if spool.grams_left > 0.0:
            grams[spool.colour] = grams.get(spool.colour, 0.0) + spool.grams_left
    if not grams or any((name, colour) not in pairs for colour in grams):
        return ""
    return min(grams, key=lambda colour: (-grams[colour], colour))


def _with_colours(workshop: Workshop, pairs: list[Pair]) -> Workshop:
    """Filaments of these colours beside their stock items; spools and printers that have them on."""
    known = {one.name for one in workshop.filaments}
    made = [workshop.filament(name).coloured(colour) for name, colour in pairs]
    for one in made:
        if one.name in known:
            raise RecordError(
                f"{one.of} in {one.colour} would be called {one.name!r}, as another filament is.",
                where="workshop.toml",
                next_step="Give that [[filament]] another name.",
            )
    names = {(one.of, one.colour): one.name for one in made}
    return replace(
        workshop,
        filaments=(*workshop.filaments, *made),
        spools=tuple(
            replace(one, filament=names.get((one.filament, one.colour), one.filament))
            for one in workshop.spools
        ),
        printers=tuple(_printer(one, names) for one in workshop.printers),
    )


def _printer(printer: Printer, names: Mapping[Pair, str]) -> Printer:
    """What it may run it may run in every colour, and as fast; what is on it may be one of them."""
    own = [name for (stock, _), name in names.items() if stock in printer.filaments]
    times = dict(printer.minutes_of)
    times |= {
        name: times[stock] for (stock, _), name in names.items() if stock in times and name not in times
    }
    loaded = names.get((printer.loaded or "", printer.loaded_colour), printer.loaded)
    return replace(
        printer,
        filaments=(*printer.filaments, *own),
        minutes_of=tuple(times.items()),
        loaded=loaded,
    )


def _airframe(airframe: Airframe, filament: Mapping[str, str]) -> Airframe:
    def of(parts: tuple[Part, ...]) -> tuple[Part, ...]:
        return tuple(replace(one, filament=filament.get(one.name, one.filament)) for one in parts)

    members = tuple(replace(one, parts=of(one.parts)) for one in airframe.members)
    return replace(airframe, parts=of(airframe.parts), members=members)
