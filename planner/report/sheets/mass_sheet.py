"""Mass and balance: what it weighs, where it balances, what moves it."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup

from planner.model.budget import MassItem
from planner.report.answers import answers
from planner.report.drawings.gauges import balance_ruler, mass_bar
from planner.report.drawings.side_view import side_view
from planner.report.drawings.stations import top_view
from planner.report.layout.blocks import (
    NARROW,
    Block,
    Column,
    Facts,
    Figure,
    Heading,
    Points,
    Row,
    Table,
    Words,
    fine,
    made_here,
)
from planner.report.layout.sheets import Sheet, laid_out
from planner.report.lookup import Lookup
from planner.report.several import alike, kinds, plan_of_one
from planner.report.words import UNKNOWN, count, ten_grams_mm
from planner.units import grams_text

_NONE = "no section"
_RANGE = (
    "Ranges are 10 to 90 %, in closed form: what pieces of one filament share (diameter, flow, foaming)"
    " adds up, what each piece and fitting has of its own is independent."
)


def mass_sheets(look: Lookup) -> list[Sheet]:
    """Bar, ruler, advice, the airframe from above, tables by section and fitting; one chapter an airframe."""
    if not look.plan.airframes:
        return _mass_sheets(look, "Mass and balance")
    more = alike(look.plan)
    note = f"{count(more, 'copy weighs', 'copies weigh')} as one of these" if more else ""
    return [
        sheet
        for one in kinds(look.plan)
        for sheet in _mass_sheets(
            Lookup(plan_of_one(look.plan, one)), f"Mass and balance: {one.airframe.name}", note
        )
    ]


def _mass_sheets(look: Lookup, name: str, note: str = "") -> list[Sheet]:
    plan = look.plan
    if not plan.mass.items:
        nothing: list[Block] = [Words("Nothing has a mass: no part and no fitting is left.", "act")]
        return laid_out(name, "What does it weigh, where does it balance?", "nothing", nothing)
    told = {answer.label: answer for answer in answers(plan)}
    blocks: list[Block] = [
        Words(
            "; ".join((told["Weighs"].short, *told["Weighs"].more)) + ".", "act" if told["Weighs"].act else ""
        ),
        Figure(made_here(mass_bar(plan.mass, 170.0)), 17.0, made_here(mass_bar(plan.mass, NARROW))),
        Words(
            "; ".join((told["Balances"].short, *told["Balances"].more)) + ".",
            "act" if told["Balances"].act else "",
        ),
    ]
    if plan.balance.station_mm is not None:
        wide, narrow = (balance_ruler(plan.balance, plan.airframe.datum, mm) for mm in (170.0, NARROW))
        blocks.append(Figure(made_here(wide), 16.5, made_here(narrow)))
    blocks += _loadings(look)
    if plan.balance.advice:
        blocks.append(Points(plan.balance.advice, "act" if plan.balance.inside is False else "dash"))
    scale = ""
    view, small = top_view(look, 170.0, 135.0), top_view(look, NARROW, 110.0, "top-narrow")
    if view is not None and small is not None:
        scale = f"1:{view.scale}"
        blocks += [
            Heading("From above"),
            Figure(made_here(view.svg), view.height_mm, made_here(small.svg)),
            Words(
                f"Scale {scale} on paper. Outlines show the pieces whose seat is known. Bubbles go by mass:"
                " dark is printed, white a fitting or finish; a broken rim has no place across and lies on"
                " the middle line. The grey band is the balance window.",
                "quiet",
            ),
        ]
    side, short = side_view(look, 170.0, 90.0), side_view(look, NARROW, 90.0, "side-narrow")
    if side is not None and short is not None:
        scale = (
            scale
            if view is not None and view.scale == side.scale
            else f"{scale}, 1:{side.scale}".lstrip(", ")
        )
        blocks += [
            Heading("From the side"),
            Figure(made_here(side.svg), side.height_mm, made_here(short.svg)),
            Words(
                f"Scale 1:{side.scale} on paper. A broken rim has no height and lies on the line of the"
                " datum.",
                "quiet",
            ),
        ]
    blocks += [Heading("By section"), _sections(look), Heading("Fittings and finish"), _fittings(look)]
    blocks += _more(look)
    shows = f"{count(len(plan.mass.items), 'item')}, stations aft of the {plan.airframe.datum}"
    if note:
        shows = f"{shows}; {note}"
    return laid_out(name, "What does it weigh, where does it balance?", shows, fine(blocks), scale)


def _loadings(look: Lookup) -> list[Block]:
    balance = look.plan.balance
    pairs: list[tuple[str, str | Markup]] = []
    if balance.low_mm is not None and balance.high_mm is not None:
        pairs.append(("balance, 10 to 90 %", f"{balance.low_mm:.0f} - {balance.high_mm:.0f} mm"))
    if balance.percent_chord is not None:
        pairs.append(("of the mean chord", f"{balance.percent_chord:.0f} %"))
    if balance.static_margin is not None:
        pairs.append(("static margin", f"{100 * balance.static_margin:.0f} %"))
    if balance.wing_loading_g_per_dm2 is not None:
        pairs.append(
            (
                "wing loading",
                _with_band(f"{balance.wing_loading_g_per_dm2:.1f} g/dm\u00b2", balance.wing_loading_band),
            )
        )
    if balance.wing_cube_loading_kg_per_m3 is not None:
        pairs.append(
            (
                "wing cube loading",
                _with_band(
                    f"{balance.wing_cube_loading_kg_per_m3:.1f} kg/m\u00b3", balance.wing_cube_loading_band
                ),
            )
        )
    if balance.left_g or balance.right_g:
        pairs.append(("left and right", f"{grams_text(balance.left_g)} / {grams_text(balance.right_g)} g"))
    if balance.across_mm is not None:
        pairs.append(("sideways", _sideways(balance.across_mm)))
    return [Facts(tuple(pairs))] if pairs else []


def _sideways(across_mm: float) -> str:
    """Where the balance lies from the plane of symmetry."""
    if abs(across_mm) < 0.05:
        return "in the middle"
    return f"{abs(across_mm):.1f} mm to the {'right' if across_mm > 0 else 'left'}"


def _with_band(number: str, band: str) -> str:
    """A loading with what usually has it (common practice)."""
    return f"{number}, as {band}" if band else number


def _sum(items: Iterable[MassItem]) -> tuple[float, float, float]:
    """Grams, grams that have a station, and their moment in kg mm."""
    found = list(items)
    placed = [(i.mass_g, i.station_mm) for i in found if i.station_mm is not None]
    return sum(i.mass_g for i in found), sum(g for g, _ in placed), sum(g * x for g, x in placed) / 1000.0


def _numbers(items: list[MassItem]) -> tuple[str, str, str, str, str]:
    total, placed, moment = _sum(items)
    printed = sum(i.mass_g for i in items if i.kind == "printed")
    other = total - printed
    arm = f"{1000.0 * moment / placed:.0f}" if placed > 0 else UNKNOWN
    return (
        grams_text(printed) if printed > 0 else "",
        grams_text(other) if other > 1e-9 else "",
        grams_text(total),
        arm,
        f"{moment:.2f}" if placed > 0 else UNKNOWN,
    )


def _sections(look: Lookup) -> Table:
    items = look.plan.mass.items
    columns = (
        Column("section", 70.0),
        Column("printed g", 20.0, "right"),
        Column("fittings, finish g", 24.0, "right"),
        Column("together g", 20.0, "right"),
        Column("arm mm", 16.0, "right"),
        Column("moment kg mm", 20.0, "right"),
    )
    names = dict.fromkeys([*look.sections, *(i.section for i in items)])
    rows = []
    for name in names:
        own = [i for i in items if i.section == name]
        if own:
            rows.append(Row((name or _NONE, *_numbers(own))))
    rows.append(Row(("all", *_numbers(list(items))), "total"))
    return Table(columns, tuple(rows))


def _fittings(look: Lookup) -> Table:
    columns = (
        Column("item", 72.0),
        Column("section", 34.0),
        Column("g", 14.0, "right"),
        Column("station mm", 16.0, "right"),
        Column("moment kg mm", 18.0, "right"),
        Column("10 g more, mm", 16.0, "right"),
    )
    rows = []
    for item in look.plan.mass.items:
        if item.kind == "printed":
            continue
        placed = item.station_mm is not None
        station = f"{item.station_mm:.0f}" if placed else UNKNOWN
        moment = f"{item.mass_g * (item.station_mm or 0.0) / 1000.0:.2f}" if placed else UNKNOWN
        what = item.finish or item.what  # the section stands beside it
        cells = (what, item.section or _NONE, grams_text(item.mass_g), station, moment)
        rows.append(Row((*cells, _moved(look, item))))
    if not rows:
        rows.append(Row(("none was given", "", UNKNOWN, UNKNOWN, UNKNOWN, UNKNOWN), "quiet"))
    return Table(columns, tuple(rows))


def _moved(look: Lookup, item: MassItem) -> str:
    by = ten_grams_mm(look.plan.balance, item)
    return UNKNOWN if by is None else _signed(by)


def _signed(value: float) -> str:
    return "0.0" if abs(value) < 0.05 else f"{value:+.1f}"


def _pieces(look: Lookup) -> list[Block]:
    """Where every piece sits, and what ten grams more there do to the balance (aft is positive)."""
    columns = (
        Column("piece", 66.0),
        Column("section", 34.0),
        Column("g", 12.0, "right"),
        Column("station mm", 16.0, "right"),
        Column("right mm", 14.0, "right"),
        Column("up mm", 12.0, "right"),
        Column("10 g more, mm", 16.0, "right"),
    )
    rows = []
    for item in look.plan.mass.items:
        if item.kind == "printed":
            at = (item.station_mm, item.across_mm, item.up_mm)
            places = (UNKNOWN if value is None else f"{round(value) + 0}" for value in at)
            cells = (item.what, item.section or _NONE, grams_text(item.mass_g), *places, _moved(look, item))
            rows.append(Row(cells))
    return [Heading("Pieces"), Table(columns, tuple(rows))] if rows else []


def _options(look: Lookup) -> list[Block]:
    effects = look.plan.option_effects
    if not any(not effect.planned for effect in effects):
        return []
    columns = (
        Column("option", 40.0),
        Column("choice", 50.0),
        Column("weighs g", 25.0, "right"),
        Column("balances mm", 25.0, "right"),
        Column("in the window", 30.0, "right"),
    )
    inside = {True: "yes", False: "no", None: UNKNOWN}
    rows = tuple(
        Row(
            (
                e.option,
                f"{e.choice} (planned)" if e.planned else e.choice,
                grams_text(e.total_g),
                UNKNOWN if e.station_mm is None else f"{e.station_mm:.1f}",
                inside[e.inside],
            )
        )
        for e in effects
    )
    return [Heading("What each option does"), Table(columns, rows)]


def _more(look: Lookup) -> list[Block]:
    balance, mass = look.plan.balance, look.plan.mass
    blocks: list[Block] = []
    if balance.sensitivity:
        columns = (
            Column("ten grams more at", 100.0),
            Column("station mm", 30.0, "right"),
            Column("balance moves aft by mm", 40.0, "right"),
        )
        rows = tuple(Row((s.what, f"{s.station_mm:.0f}", _signed(s.moves_mm))) for s in balance.sensitivity)
        blocks += [Heading("What moves the balance"), Table(columns, rows)]
    blocks += _options(look)
    blocks += _pieces(look)
    if balance.unplaced:
        names = ", ".join(balance.unplaced)
        blocks += [
            Heading("Unplaced"),
            Words(f"No station, so not in the balance ({grams_text(balance.unplaced_g)} g): {names}."),
        ]
    notes = (_RANGE, *mass.notes, *balance.notes, *_table_sources(look))
    return [*blocks, Heading("Behind these numbers"), Points(notes)]


def _table_sources(look: Lookup) -> list[str]:
    """Where the masses of built-in fittings come from; those that share a source in one line."""
    plan = look.plan
    told: dict[str, dict[str, None]] = {}
    for fitting in plan.airframe.fittings:
        if fitting.source != "given" and fitting.count and plan.airframe.chosen(fitting.option):
            told.setdefault(fitting.source, {})[fitting.name] = None
    return [f"Mass from the built-in table: {', '.join(names)} ({source})." for source, names in told.items()]
