"""Nozzles and plates: what is asked, what a printer has, and what changing them takes."""

from __future__ import annotations

import pytest

from planner.errors import RecordError
from planner.model.filament import Filament
from planner.model.fit import ANY, Fit, Nozzle, nozzle_of
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop

DESK = Printer(
    "desk", "desk", nozzles=("0.6", "0.4 hardened"), plate="smooth", plates=("rough",), nozzle_minutes=20
)
FIBRE = Filament("fibre", "PA", 1.2, 1.2, hardened_nozzle=True, plate="rough")


def test_the_first_that_serves_goes_on() -> None:
    """A hardened nozzle serves who asks for none; without a size the printer's own is meant."""
    assert DESK.fit_for(ANY) == (0, 0)
    assert DESK.fit_for(Fit(0.6)) == (1, 0)
    assert DESK.fit_for(FIBRE.asks()) == (2, 1)
    assert DESK.fit_for(Fit(0.6, hardened=True)) is None
    assert DESK.fit_for(Fit(plate="glass")) is None
    hard = Printer("hard", "hard", nozzle_hardened=True)
    assert hard.fit_for(ANY) == hard.fit_for(Fit(hardened=True)) == (0, 0)
    assert [DESK.refit_minutes((0, 0), other) for other in ((0, 0), (1, 0), (0, 1), (2, 1))] == [0, 20, 2, 22]


def test_the_recipe_goes_before_the_filament() -> None:
    """In size and plate; fibres stay fibres."""
    assert FIBRE.asks(Recipe("thick", nozzle_mm=0.6, plate="smooth")) == Fit(0.6, True, "smooth")
    assert FIBRE.asks(Recipe("plain")) == FIBRE.asks() == Fit(None, True, "rough")
    assert str(FIBRE.asks(Recipe("thick", nozzle_mm=0.6))) == "a hardened 0.6 mm nozzle and the plate 'rough'"
    assert str(ANY) == ""


def test_a_printer_without_the_nozzle_may_not_run_it() -> None:
    """Whatever its list of filaments says."""
    plain = Printer("plain", "plain", filaments=("fibre",))
    shop = Workshop((DESK, plain), (FIBRE,))
    assert shop.can_run(DESK, FIBRE)
    assert not shop.can_run(plain, FIBRE)
    assert not shop.can_run(DESK, FIBRE, Fit(0.8))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Printer("a", "a", nozzles=("big",)), "printer 'a': nozzles = 'big' is no nozzle"),
        (lambda: Printer("a", "a", nozzles=("0.01",)), "below the limit"),
        (lambda: Printer("a", "a", plates=("rough",)), "plates needs plate"),
        (lambda: Printer("a", "a", nozzle_minutes=-1), "nozzle_minutes = -1"),
        (lambda: Filament("f", "PA", 1.2, 1.2, nozzle_mm=9.0), "nozzle_mm = 9 is above the limit"),
        (lambda: Recipe("r", plate="a\tb"), "recipe.r.plate = .* control character"),
        (lambda: Fit(plate=" "), "plate must not be empty"),
    ],
)
def test_what_is_refused(make, words: str) -> None:
    """Naming key and limit."""
    with pytest.raises(RecordError, match=words):
        make()


def test_how_a_nozzle_is_written() -> None:
    """As a size, and whether it is hardened."""
    assert nozzle_of("0.40 hardened", "nozzles") == Nozzle(0.4, hardened=True)
    assert [str(nozzle_of(text, "")) for text in ("0.60", " 0.4 hardened")] == ["0.6", "0.4 hardened"]
