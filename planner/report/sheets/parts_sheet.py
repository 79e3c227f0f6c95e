"""What each piece needs: outline, profile over its height, grams, metres, minutes."""

from __future__ import annotations

from markupsafe import Markup

from planner.model.part import Part
from planner.report.drawings.profile import outline_picture, profile_picture
from planner.report.layout.blocks import Block, Cell, Column, Drawn, Row, Table, Words, made_here
from planner.report.layout.drawing import fitted
from planner.report.layout.legend import plain_style, section_styles
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.words import UNKNOWN, count
from planner.units import grams_text, hours_text

_HIGH = 11.0
_FINDING = 84.0  # mm of a finding that are shown here; the notes hold it whole
_COLUMNS = (
    Column("outline", 24.0),
    Column("part", 47.0),
    Column("section area over height", 31.0),
    Column("seconds a layer over height", 31.0),
    Column("g", 11.0, "right"),
    Column("m", 11.0, "right"),
    Column("time", 15.0, "right"),
)


def parts_sheets(look: Lookup) -> list[Sheet]:
    """A row a part; all numbers are those of one piece printed alone."""
    parts = look.plan.parts
    if not parts:
        return laid_out("Parts", "What does each piece need?", "no part is left", [Words("No part.", "act")])
    blocks: list[Block] = [
        Words(
            "Numbers are those of one piece, without the least layer time, which belongs to the bed."
            f" {look.timed_words} The outlines are not to one scale; the sizes stand beside them.",
            "quiet",
        ),
        Table(_COLUMNS, tuple(_row(look, part) for part in parts)),
    ]
    return laid_out("Parts", "What does each piece need?", count(len(parts), "part"), blocks)


def _row(look: Lookup, part: Part) -> Row:
    deposit = look.plan.deposits[part.name]
    style = section_styles(look).get(part.section, plain_style())
    minutes, kind = look.minutes_of(part.name), look.timed_on(part.name)
    outline = outline_picture(deposit.footprint_mm, style, 21.0, _HIGH)
    layers = deposit.layers
    area = ""
    seconds = ""
    if len(layers):
        most = f"{layers.area_mm2.max() / 100.0:.1f} cm\u00b2"
        area = profile_picture(layers.top_mm, layers.area_mm2, 29.0, _HIGH, most, "section area over height")
        if kind is not None and len(deposit.seconds[kind]) == len(layers):
            column = look.seconds_on(part.name, kind)
            most = f"{column.max():.0f} s"
            seconds = profile_picture(layers.top_mm, column, 29.0, _HIGH, most, "seconds over height")
    cells: tuple[Cell, ...] = (
        Drawn(made_here(outline), _HIGH),
        _words(look, part),
        Drawn(made_here(area), _HIGH),
        Drawn(made_here(seconds), _HIGH),
        grams_text(deposit.mass_g),
        f"{deposit.filament_m:.1f}",
        UNKNOWN if minutes is None else hours_text(minutes),
    )
    return Row(cells)


def _words(look: Lookup, part: Part) -> Markup:
    deposit = look.plan.deposits[part.name]
    x, y, z = deposit.extents_mm
    many = len(look.pieces_of(part.name))
    mark = Markup('<b class="letter">{}</b>').format(look.letter.get(part.filament, "?"))
    told = Markup("<b>{}</b>{} {}<br><small>{:.1f} \u00d7 {:.1f} \u00d7 {:.1f} mm, {}, {}</small>").format(
        part.name, f" \u00d7 {many}" if many != 1 else "", mark, x, y, z, part.recipe.name, part.section
    )
    if deposit.support_g > 0.0:
        minutes = look.support_minutes_of(part.name)
        time = "" if minutes is None else f" and {hours_text(minutes)}"
        told += Markup("<br><small>{}{} of it is support, broken off</small>").format(
            f"{grams_text(deposit.support_g)} g", time
        )
    for finding in dict.fromkeys(f for f in look.findings if f.about == part.name):
        tone = "note" if finding.weight == "note" else "flag"
        told += Markup('<br><small class="{}">{}</small>').format(tone, fitted(finding.text, 2.4, _FINDING))
    return told
