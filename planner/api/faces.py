"""What the functions for Python give back: the values of the model, with the faces that a notebook shows.

The model knows no report. These classes add no fact to what they are made of: each is the value itself, field
by field, and asks the report how it looks.
"""

from __future__ import annotations

import html
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any, TypeVar

from planner.errors import InputError
from planner.model import mesh_check, plan, replan
from planner.tradeoffs import study

Kind = TypeVar("Kind")
_FRAME_EM = 62  # height of the sheet in a notebook: what is longer scrolls


def faced(kind: type[Kind], value: object, **more: object) -> Kind:
    """A value of the model as one of the classes here."""
    given = {one.name: getattr(value, one.name) for one in fields(value)}  # type: ignore[arg-type]
    return kind(**given, **more)


@dataclass(frozen=True, slots=True, repr=False)
class BedPlan:
    """The drawing of a bed, as SVG; a notebook shows it."""

    batch: str
    svg: str

    def __repr__(self) -> str:
        return f"<bed plan of {self.batch!r}>"

    def _repr_svg_(self) -> str:
        return self.svg


@dataclass(frozen=True, slots=True, repr=False)
class Plan(plan.Plan):
    """The plan of one airframe in one workshop: every answer, as one frozen value.

    ``parts``, ``deposits``, ``batches``, ``schedule``, ``spools``, ``mass``, ``balance``, ``cost``,
    ``findings`` and the rest are plain values; ``planner.frames`` gives them as tables. ``written`` is the
    results folder, ``None`` where nothing was written.

    Examples
    --------
    >>> import planner
    >>> made = planner.plan("kit", start="2026-12-01T18:00", effort="quick")
    >>> made
    <plan of 'kit': 2 parts, 3 pieces; 1 bed, 1 run, ...>
    >>> len(made.batches), made.mass.total_g > 0.0
    (1, True)
    """

    written: Path | None = None

    def summary(self) -> str:
        """The text that the command prints: at most 25 lines of at most 80 columns.

        Examples
        --------
        >>> import planner
        >>> print(planner.plan("kit", start="2026-12-01T18:00", effort="quick").summary())
        kit - 2 parts, 3 pieces
        Fits        yes: 1 bed on 1 printer
        ...
        Report      not written
        """
        from planner.report.text.summary import summary

        return summary(self, "not written" if self.written is None else str(self.written / "report.html"))

    def bed_plan(self, batch: str) -> BedPlan:
        """The drawing of one bed: which piece lies where, which way round.

        Raises
        ------
        planner.errors.InputError
            when no bed of the plan has that name

        Examples
        --------
        >>> import planner
        >>> made = planner.plan("kit", start="2026-12-01T18:00", effort="quick")
        >>> made.bed_plan("bed 1")
        <bed plan of 'bed 1'>
        """
        from planner.report.drawings.bed_plan import bed_plan_svg

        names = [one.name for one in self.batches]
        if batch not in names:
            raise InputError(f"there is no bed {batch!r}.", next_step=f"Known: {', '.join(names)}.")
        return BedPlan(batch, bed_plan_svg(self, batch))

    def to_json(self) -> str:
        """The text of ``plan.json``.

        Examples
        --------
        >>> import json, planner
        >>> made = planner.plan("kit", start="2026-12-01T18:00", effort="quick")
        >>> json.loads(made.to_json())["schema"]
        1
        """
        from planner.report.exports.plan_json import plan_json

        return plan_json(self)

    def _repr_html_(self) -> str:
        """The sheet of answers, in a frame of its own that runs no script."""
        from planner.report.sheets.page import answers_html

        page = html.escape(answers_html(self), quote=True)
        return (
            f'<iframe sandbox="" style="width:100%;height:{_FRAME_EM}em;border:0" srcdoc="{page}"></iframe>'
        )


@dataclass(frozen=True, slots=True, repr=False)
class Check(mesh_check.FolderCheck):
    """A look at the meshes of a folder: ``meshes``, ``set_aside``, ``findings``, whether all is ``clean``.

    Examples
    --------
    >>> import planner
    >>> seen = planner.check("kit")
    >>> seen
    <check of 2 meshes, 0 set aside: clean>
    >>> seen.meshes[0].watertight
    True
    """

    def __repr__(self) -> str:
        state = "clean" if self.clean else "not clean"
        return f"<check of {len(self.meshes)} meshes, {len(self.set_aside)} set aside: {state}>"

    def summary(self) -> str:
        """The text that ``planner check`` prints."""
        from planner.report.text.check_text import check_text

        return check_text(self)


@dataclass(frozen=True, slots=True, repr=False)
class Tradeoff(study.Study):
    """What to print otherwise: ``before``, ``proposal``, ``after``, ``fronts``; ``refusal`` where none does.

    Examples
    --------
    >>> import planner
    >>> planner.tradeoff("kit", mass_at_most_g=1.0, start="2026-12-01T18:00", effort="quick")
    <trade-off of 'kit': refused, ...>
    """

    written: Path | None = None

    def __repr__(self) -> str:
        changes = len(self.proposal.changed) if self.proposal is not None else 0
        found = f"refused, {self.refusal}" if self.refusal else f"{changes} parts to print otherwise"
        return f"<trade-off of {self.before.airframe.name!r}: {found}>"

    def summary(self) -> str:
        """The text that ``planner tradeoff`` prints."""
        from planner.report.text.tradeoff_text import tradeoff_text

        told = "not written" if self.written is None else str(self.written / "tradeoff.html")
        return tradeoff_text(self, told)


@dataclass(frozen=True, slots=True, repr=False)
class EarlierPlan(replan.EarlierPlan):
    """A ``plan.json`` that was read back; ``record`` is all that it says, as JSON types.

    Examples
    --------
    >>> import planner
    >>> made = planner.plan("kit", start="2026-12-01T18:00", effort="quick", out="out")
    >>> planner.read_plan("out")
    <earlier plan of 'kit': beds 1, finish ...>
    """

    record: Mapping[str, Any] = field(default_factory=dict)

    def __repr__(self) -> str:
        beds = len(self.batches)
        return f"<earlier plan of {self.airframe!r}: beds {beds}, finish {self.finish:%Y-%m-%d %H:%M}>"
