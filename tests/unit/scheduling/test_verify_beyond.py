"""Spools beyond the grams: each number that is told of them, broken on the plan by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.schedule import Buying, SpoolUse
from planner.scheduling.verify_beyond import beyond_faults
from tests.unit.scheduling.sound_plan import FOAM, PLA, SOUND, at

# The sound plan buys one spool of foaming PLA and one of TPU, which the grams need: more are beyond them.
PRICES = {PLA: 2400, FOAM: 3900, "TPU": None}
LATER = at("09:45", 1) + timedelta(hours=2)


def faults(buying: Buying | None, *more: str) -> tuple[str, ...]:
    """With one more new spool of each of these filaments."""
    priced = tuple(replace(f, price_minor=PRICES[f.name]) for f in SOUND.shop.filaments)
    shop = replace(SOUND.shop, filaments=priced)
    new = [SpoolUse(f"new {3 + n}", name, True, 1000.0, 0.0, 0.0, 0.0, None) for n, name in enumerate(more)]
    return beyond_faults(replace(SOUND.schedule(), buying=buying), (*SOUND.uses, *new), SOUND.batches, shop)


@pytest.mark.parametrize(
    ("told", "more", "words"),
    [
        (None, (), ()),
        (Buying(2, 6300, 2.0, LATER, bought=True), (PLA, FOAM), ()),
        (
            Buying(1, 2400, 2.1, LATER, bought=True),
            (PLA,),
            ("the spools beyond need save 2.1 h as told, 2 h in truth.",),
        ),
        (Buying(1, 2400, -2.0, LATER, bought=False), (), ()),
        (
            Buying(2, 4800, 2.0, LATER, bought=True),
            (PLA,),
            ("2 spools are told to be bought beyond need, 1 are.",),
        ),
        (
            Buying(2, 4800, 2.0, LATER, bought=True),
            (PLA, FOAM),
            ("2 spools are told to cost 4800, their prices make 6300.",),
        ),
        (
            Buying(2, 2400, 2.0, LATER, bought=True),
            (PLA, "TPU"),
            ("2 spools are told to cost 2400, their prices make None.",),
        ),
        (Buying(2, None, 2.0, LATER, bought=True), (PLA, "TPU"), ()),
        (Buying(3, 2 * 2400 + 3900, 2.0, None, bought=False), (), ()),
        (Buying(3, None, 2.0, None, bought=False), (), ()),  # one of them may be of TPU
        (
            Buying(3, 2400 + 3900, 2.0, None, bought=False),
            (),
            ("3 spools are told to cost 6300, which no prices make.",),
        ),
    ],
)
def test_spools_beyond_the_grams(told, more, words) -> None:
    """How many, for how much, and how much sooner the plan ends with them."""
    assert faults(told, *more) == words
