"""What each part may be printed as instead: recipes of its family, filaments that serve its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.recipe import SUPPORT_KEYS, Recipe
from planner.model.workshop import Workshop

_HOLLOW = 0.05  # infill up to which a recipe is a shell (common practice, no source)
_LEAST_SHARE, _MOST_SHARE, _MOST_EXTRA = 0.5, 2.0, 0.10  # of the planned infill
# A foamed part is soft: skins and light bodies only (common practice, no source).
_FOAM_WALLS, _FOAM_INFILL = 2, 0.2


@dataclass(frozen=True, slots=True)
class Way:
    """One recipe in one filament; the first way of a part is the one that is planned."""

    name: str
    part: Part


def allowed_ways(
    part: Part, recipes: Mapping[str, Recipe], workshop: Workshop, used: Sequence[str]
) -> tuple[Way, ...]:
    """The planned way first, then all others that the limits of the user and of the trade leave.

    Parameters
    ----------
    recipes : all that are known by name
    used : filaments of the airframe and of the shelf; others are only taken where the user allows them

    Without ``allowed_recipes`` a part keeps to its family: open or closed on top, spiral, support and
    first layer as planned, at most one wall less, and an infill of half to twice the planned one.
    Whatever is allowed, walls never fall under ``least_walls``, a part near the motor never gets a
    filament that softens earlier, and a hinge stays flexible with its recipe.

    Raises
    ------
    RecordError
        when an allowed filament is not known
    """
    planned = Way(f"{part.recipe.name}, {workshop.filament(part.filament).stock}", part)
    if part.keep:
        return (planned,)
    ways = {planned.name: planned}
    seen = {(_content(part.recipe), part.filament)}
    for filament in _filaments(part, workshop, used):
        for recipe in _recipes(part, recipes):
            name = f"{recipe.name}, {filament.stock}"
            key = (_content(recipe), filament.name)
            if name in ways or key in seen or not _serves(part, recipe, filament):
                continue
            seen.add(key)
            ways[name] = Way(name, replace(part, recipe=recipe, filament=filament.name))
    return tuple(ways.values())


def _content(recipe: Recipe) -> Recipe:
    """A recipe without its names, to tell two of the same settings."""
    return replace(recipe, name="-", source="-")


def _recipes(part: Part, recipes: Mapping[str, Recipe]) -> Iterator[Recipe]:
    yield part.recipe
    if part.hinge and not part.allowed_recipes:
        return
    for name, recipe in recipes.items():
        wanted = name in part.allowed_recipes if part.allowed_recipes else _family(part.recipe, recipe)
        if wanted and _walls(recipe) >= part.least_walls:
            # how it stands on its bed belongs to the part, not to the recipe that it borrows
            yield (recipe if part.allowed_recipes else _standing_as(part.recipe, recipe))


def _standing_as(own: Recipe, other: Recipe) -> Recipe:
    """Another recipe with the brim and the support of the part's own."""
    return replace(other, brim_mm=own.brim_mm, **{key: getattr(own, key) for key in SUPPORT_KEYS})


def _walls(recipe: Recipe) -> int:
    return 1 if recipe.spiral else recipe.walls


def _family(planned: Recipe, other: Recipe) -> bool:
    """Whether a recipe makes much the same thing: a skin stays a skin, a joiner a joiner."""
    if other.spiral is not planned.spiral or (other.top_layers == 0) is not (planned.top_layers == 0):
        return False
    if (other.infill <= _HOLLOW) is not (planned.infill <= _HOLLOW):
        return False
    if other.walls < max(1, planned.walls - 1):
        return False
    low, high = _LEAST_SHARE * planned.infill, max(_MOST_SHARE * planned.infill, planned.infill + _MOST_EXTRA)
    return planned.infill <= _HOLLOW or low <= other.infill <= high


def _filaments(part: Part, workshop: Workshop, used: Sequence[str]) -> Iterator[Filament]:
    planned = workshop.filament(part.filament)
    yield planned
    names = part.allowed_filaments or tuple(used)
    for filament in _in_colour(workshop, planned.colour, names):
        if filament.name == planned.name or filament.flexible is not planned.flexible:
            continue
        if part.near_motor and not _as_warm(filament, planned):
            continue
        if not any(workshop.can_run(printer, filament) for printer in workshop.printers):
            continue
        if filament.price_minor is None and planned.price_minor is not None:
            continue  # a price that nobody knows would look like a saving
        yield filament


def _in_colour(workshop: Workshop, colour: str, names: Sequence[str]) -> list[Filament]:
    """These stock items in the colour that is asked for, as far as there are such."""
    stocks = dict.fromkeys(workshop.filament(name).stock for name in names)
    return [
        one for stock in stocks for one in workshop.filaments if (one.stock, one.colour) == (stock, colour)
    ]


def _as_warm(filament: Filament, planned: Filament) -> bool:
    if planned.softening_c is None:
        return False
    return filament.softening_c is not None and filament.softening_c >= planned.softening_c


def _serves(part: Part, recipe: Recipe, filament: Filament) -> bool:
    """Whether the two go together; what the user allows by name does."""
    if not filament.foaming or part.allowed_filaments:
        return True
    return part.filament == filament.name or (recipe.walls <= _FOAM_WALLS and recipe.infill < _FOAM_INFILL)
