"""Lines of a draft that only the builder can fill in: comments, to be uncommented and changed."""

from __future__ import annotations

from collections.abc import Sequence

import tomlkit

EXAMPLES = (
    (
        '[[stack]]                     # where parts sit: a part says stack = { name = "wing", order = 1 }',
        'name = "wing"',
        "start_mm = 0",
        'direction = "across"          # or "aft", "forward"; a part may say station_mm = 120 instead',
        "how far pins reach into the next part is found, or said under the part: overlap_mm = 12",
    ),
    (
        "[[fitting]]                   # what is bought and flies, by its own mass",
        'name = "battery"',
        "mass_g = 180",
        "station_mm = -40              # aft of the datum",
        "movable_mm = [-70, -20]       # the stations between which it has room",
        'price = "24.90 EUR"',
    ),
    (
        '[[fitting]]                   # or as a row of the built-in table: "planner tables fittings"',
        'like = "carbon tube 8 x 6"',
        "length_mm = 900",
        "station_mm = 61",
    ),
    (
        "[finish]",
        "glue_g_per_cm2 = 0.02         # or glue_g = 20",
        "paint_g_per_m2 = 40           # or paint_g = 15",
    ),
    (
        "[mass_limits_g]               # mass classes of your own authority, checked in the plan",
        '"lightest class" = 250',
    ),
)


_AWAY = 'away = [{ from = 2026-12-03, until = 2026-12-05, why = "repair" }]   # without until: until you say'
PRINTER = (
    'nozzle_mm = 0.4               # what is on it; others that it has: nozzles = ["0.6", "0.4 hardened"]',
    'plate = "smooth"              # in your own word; others that it has: plates = ["textured"]',
    _AWAY,
)
SHELF = (
    (
        "[[filament]]                  # a built-in one of that name, with what you know better",
        'name = "PLA"',
        'price = "21.00 EUR"           # of a spool',
        "needs_drying = true           # in a dryer, first; with open_hours = 72 again after these",
        "dry_c = 45",
        "dry_hours = 5",
        "nozzle_mm = 0.4               # and plate, hardened_nozzle: what it asks of a printer",
    ),
    (
        "[[spool]]",
        'name = "1"',
        'filament = "PLA"',
        "grams_left = 640",
        'colour = "white"              # as sections of an airframe ask for it',
        'lot = "A 17"                  # as the maker has written on it',
        "dried = 2026-12-01",
        "at_hand_from = 2026-12-01",
        _AWAY.replace("repair", "lent out"),
    ),
    (
        "[[absence]]                   # days on which nobody is there, or with person the one of that name",
        "from = 2026-12-24",
        "until = 2026-12-26            # the last of them",
    ),
    (
        "[dryer]                       # a hot machine that runs unattended: one that is made for it",
        "count = 1                     # all alike",
        "spools = 2                    # that each takes",
    ),
)
ASKED = (
    "due = 2026-12-24              # all of it shall be printed by the end of that day",
    'colour = "white"              # of all sections that name none; spools tell theirs',
    "priority = 1                  # where several airframes are planned together: lowest first",
    "mix = false                   # then its pieces share no bed with those of another airframe",
)


def asked_of(sections: Sequence[str]) -> tuple[str, ...]:
    """What single sections may ask for, with the first of them as the example."""
    first = tomlkit.item(sections[0]).as_string()
    return (
        f"section_dates = {{ {first} = 2026-12-05 }}",
        f'section_colours = {{ {first} = "red" }}',
        f"one_lot = [{first}]  # sections that shall each come from one lot of every filament",
    )
