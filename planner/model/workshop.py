"""What the builder prints with."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from planner.errors import RecordError
from planner.model.attendance import Attendance
from planner.model.checks import number, one_of
from planner.model.drying import Dryer
from planner.model.filament import Filament, Spool
from planner.model.fit import Fit
from planner.model.learned import Spreads
from planner.model.one_lot import OneLot
from planner.model.printer import Printer

Buy = Literal["never", "if needed", "for speed"]
NEVER_BUY: Buy = "never"
IF_NEEDED: Buy = "if needed"
SPEED: Buy = "for speed"


@dataclass(frozen=True, slots=True)
class Workshop:
    """Printers, filaments, the shelf, attendance, and what handling costs.

    Every machine is an entry of ``printers`` of its own; machines that are alike share a kind.
    ``buy`` says when spools are bought: never, only where the shelf does not cover the grams or the finish
    would be later than its tolerance, or whenever the plan ends sooner with them. No bed lasts longer than
    ``longest_run_h``; left and right hands of each other share a bed with ``pairs_together``, and only pieces
    of one section do without ``mix_sections``, and of one airframe without ``mix_airframes``. Filaments that
    need it are dried in ``dryer``; without one that is only told. ``of_one_lot``
    are pieces of the airframe that ask for one lot: spools are chosen so where that costs no new one.

    Examples
    --------
    >>> import planner
    >>> shop = planner.Workshop(
    ...     tuple(planner.printers().values())[:2],
    ...     tuple(planner.filaments().values()),
    ...     (planner.Spool("grey 1", "PLA", 338.0),),
    ... )
    >>> shop.filament("PLA").material
    'polylactic acid'
    """

    printers: tuple[Printer, ...]
    filaments: tuple[Filament, ...]
    spools: tuple[Spool, ...] = ()
    attendance: Attendance = Attendance()
    currency: str = "EUR"
    energy_price_per_kwh: Decimal | None = None
    person_price_per_hour: Decimal | None = None
    clearance_mm: float = 4.0
    start_minutes: int = 5
    clear_minutes: int = 10
    change_minutes: int = 10
    change_purge_g: float = 8.0
    run_purge_g: float = 1.0
    failure_per_hour: float = 0.002
    spread_printer: float = 0.02
    spread_spool: float = 0.01
    spread_recipe: float = 0.02
    buy: Buy = IF_NEEDED
    longest_run_h: float | None = None
    pairs_together: bool = False
    mix_sections: bool = True
    mix_airframes: bool = True
    dryer: Dryer | None = None
    of_one_lot: tuple[OneLot, ...] = ()

    def __post_init__(self) -> None:
        if not self.printers:
            raise RecordError("the workshop has no printer.", next_step="Add a [[printer]] table.")
        if not re.fullmatch(r"[A-Z]{3}", self.currency):
            raise RecordError(f"currency = {self.currency!r} is not a three-letter ISO 4217 code.")
        for kind, names in (
            ("printers", [p.name for p in self.printers]),
            ("filaments", [f.name for f in self.filaments]),
            ("spools", [s.name for s in self.spools]),
        ):
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise RecordError(f"two {kind} are named {twice[0]!r}; names must differ.")
        self._check_kinds()
        number(self.clearance_mm, "clearance_mm", low=0.0, high=100.0)
        for key in ("start_minutes", "clear_minutes", "change_minutes"):
            number(getattr(self, key), key, low=0, high=24 * 60)
        number(self.change_purge_g, "change_purge_g", low=0.0, high=1000.0)
        number(self.run_purge_g, "run_purge_g", low=0.0, high=1000.0)
        if self.longest_run_h is not None:
            number(self.longest_run_h, "longest_run_h", above=0.0, high=1000.0)
        one_of(self.buy, "buy", (NEVER_BUY, IF_NEEDED, SPEED))
        number(self.failure_per_hour, "failure_per_hour", low=0.0, high=1.0)
        for key in ("spread_printer", "spread_spool", "spread_recipe"):
            number(getattr(self, key), key, low=0.0, high=0.5)

    def _check_kinds(self) -> None:
        """Printers of one kind take beds from each other: the same minutes must hold on all of them."""
        factors: dict[str, Printer] = {}
        for printer in self.printers:
            first = factors.setdefault(printer.kind, printer)
            if (first.minutes_factor, first.minutes_of) != (printer.minutes_factor, printer.minutes_of):
                raise RecordError(
                    f"printers {first.name!r} and {printer.name!r} are of one kind, but their minutes_factor"
                    f" differs ({first.minutes_factor:g} and {printer.minutes_factor:g}).",
                    next_step="Leave out kind, or give both the same factor.",
                )

    @property
    def spreads(self) -> Spreads:
        """How far grams may lie off before anything is weighed, beside what stands with the filaments."""
        return Spreads(self.spread_spool, self.spread_printer, self.spread_recipe)

    def filament(self, name: str) -> Filament:
        """The filament of that name.

        Raises
        ------
        RecordError
            when the workshop does not know it
        """
        for filament in self.filaments:
            if filament.name == name:
                return filament
        known = ", ".join(f.name for f in self.filaments)
        raise RecordError(
            f"the filament {name!r} is not known.",
            next_step=f"Known: {known}. Add a [[filament]] table for others.",
        )

    def dries(self, filament: Filament) -> bool:
        """Whether spools of a filament are given slots in a dryer: only where spools are told one by one."""
        return filament.needs_drying and self.dryer is not None and bool(self.spools)

    def can_run(self, printer: Printer, filament: Filament, asked: Fit | None = None) -> bool:
        """Whether that printer may run that filament: by its list, else by its temperatures.

        And whether it has the nozzle and the plate that a bed asks for, or else the filament.
        """
        if printer.fit_for(filament.asks() if asked is None else asked) is None:
            return False
        if printer.filaments:
            return filament.name in printer.filaments
        return filament.nozzle_c <= printer.nozzle_limit_c and filament.bed_c <= printer.bed_limit_c
