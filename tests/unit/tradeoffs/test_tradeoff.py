"""Trade-offs against plain enumeration, and against the real mass and balance."""

from __future__ import annotations

import itertools
import random

import pytest

from planner.errors import Infeasible, InputError
from planner.model.airframe import Finish, Fitting, StackPlace
from planner.tradeoffs.alternatives import Alternative, Offer, Rest, Targets, alternatives, rest_of, totals
from planner.tradeoffs.single_changes import best_single_changes, single_changes
from planner.tradeoffs.tradeoff import best, front, least_change
from planner.weights.balance import balance
from planner.weights.mass import airframe_mass
from tests.unit.weights.samples import FILAMENTS, airframe, deposit, part, pieces

EXACT = 1e-9
REST = Rest(mass_g=400.0, placed_g=380.0, moment_gmm=380.0 * 40.0, minutes=30.0, cost_minor=900)


def made_table(seed: int, parts: int = 6, ways: int = 3) -> list[Alternative]:
    """Parts of 20 to 120 g whose alternatives trade grams for minutes and money, in whole numbers."""
    rng = random.Random(seed)  # noqa: S311  a made-up airframe
    rows = []
    for n in range(parts):
        station = float(rng.randint(-200, 600))
        for way in range(ways):
            rows.append(
                Alternative(
                    f"part {n}",
                    f"way {way}",
                    float(rng.randint(20, 120)),
                    float(rng.randint(30, 600)),
                    rng.randint(50, 900),
                    station if n else None,
                    planned=way == 0,
                )
            )
    return rows


def everything(table):
    """All choices with their totals, one after the other."""
    parts: dict[str, list[Alternative]] = {}
    for row in table:
        parts.setdefault(row.part, []).append(row)
    for rows in itertools.product(*parts.values()):
        yield rows, totals(REST, rows)


def keeps(found, targets: Targets) -> bool:
    if targets.mass_g is not None and found.mass_g > targets.mass_g + EXACT:
        return False
    if targets.minutes is not None and found.minutes > targets.minutes + EXACT:
        return False
    if targets.cost_minor is not None and found.cost_minor > targets.cost_minor:
        return False
    if targets.window_mm is not None:
        return targets.window_mm[0] - EXACT <= found.station_mm <= targets.window_mm[1] + EXACT
    return True


TARGETS = [
    Targets(mass_g=700.0),
    Targets(mass_g=760.0, minutes=1500.0),
    Targets(mass_g=800.0, cost_minor=3200),
    Targets(mass_g=820.0, window_mm=(90.0, 110.0)),
    Targets(minutes=1200.0, cost_minor=3000, window_mm=(60.0, 130.0)),
    Targets(),
]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("targets", TARGETS)
def test_least_change_is_that_of_full_enumeration(seed, targets):
    """Of all 729 choices none keeps the targets with fewer changes; where none keeps them, it says so."""
    table = made_table(seed)
    sound = [(rows, found) for rows, found in everything(table) if keeps(found, targets)]
    if not sound:
        with pytest.raises(Infeasible, match="no allowed choice"):
            least_change(table, REST, targets)
        return
    fewest = min(sum(not row.planned for row in rows) for rows, _ in sound)
    before = totals(REST, [row for row in table if row.planned])

    def losses(found) -> float:
        return (
            found.mass_g / before.mass_g
            + found.minutes / before.minutes
            + found.cost_minor / before.cost_minor
        )

    gentle = min(losses(f) for rows, f in sound if sum(not row.planned for row in rows) == fewest)
    proposal = least_change(table, REST, targets)
    assert proposal.proved
    assert keeps(proposal.totals, targets)
    assert len(proposal.changed) == fewest
    assert losses(proposal.totals) == pytest.approx(gentle, abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("measure", ["mass", "minutes", "cost"])
def test_best_is_that_of_full_enumeration(seed, measure):
    """The least mass, minutes or money under a window is the least of all 729 choices."""
    table, targets = made_table(seed), Targets(window_mm=(40.0, 180.0))
    value = {"mass": "mass_g", "minutes": "minutes", "cost": "cost_minor"}[measure]
    least = min(getattr(f, value) for _, f in everything(table) if keeps(f, targets))
    proposal = best(table, REST, targets, measure)
    assert proposal.proved
    assert getattr(proposal.totals, value) == pytest.approx(least, abs=EXACT)


@pytest.mark.parametrize("pair", [("mass", "minutes"), ("mass", "cost"), ("minutes", "cost")])
def test_front_holds_only_what_nothing_beats(pair):
    """No choice at all is at least as good in both measures and better in one than a point of the front."""
    table = made_table(3, parts=5)
    names = {"mass": "mass_g", "minutes": "minutes", "cost": "cost_minor"}
    a, b = (names[m] for m in pair)
    every = [(getattr(f, a), getattr(f, b)) for _, f in everything(table)]
    points = [(getattr(p.totals, a), getattr(p.totals, b)) for p in front(table, REST, Targets(), pair)]
    assert len(points) >= 3
    assert points[0][0] == pytest.approx(min(x for x, _ in every))
    assert points[-1][1] == pytest.approx(min(y for _, y in every))
    for x, y in points:
        assert not any(
            (p <= x + EXACT and q < y - EXACT) or (p < x - EXACT and q <= y + EXACT) for p, q in every
        )


def test_what_is_out_of_reach_is_told_with_what_is_not():
    """A mass of 10 g is refused with the least that could be reached."""
    table = made_table(0)
    least = min(f.mass_g for _, f in everything(table))
    with pytest.raises(Infeasible, match=f"mass {least:.1f} g"):
        least_change(table, REST, Targets(mass_g=10.0))


def test_a_table_without_a_plan_is_refused():
    """Each part needs exactly one planned row."""
    with pytest.raises(InputError, match="0 planned alternatives"):
        best([Alternative("a", "x", 1.0, 1.0, 1)], Rest(), Targets(), "mass")


def test_single_changes_by_hand():
    """40 g for 2 h more are 20 g an hour; 10 g for 15 min less are free and come first."""
    table = [
        Alternative("a", "thick", 100.0, 60.0, 500, 0.0, planned=True),
        Alternative("a", "thin", 60.0, 180.0, 700, 0.0),
        Alternative("b", "slow", 50.0, 60.0, 500, 100.0, planned=True),
        Alternative("b", "fast", 40.0, 45.0, 520, 100.0),
        Alternative("b", "heavy", 90.0, 10.0, 100, 100.0),
    ]
    rest = Rest(100.0, 100.0, 5000.0)
    found = best_single_changes(table, rest, "hour")
    assert [change.instead for change in found] == ["fast", "thin"]
    assert found[1].grams_per_hour == pytest.approx(20.0)
    assert found[1].grams_per_minor == pytest.approx(0.2)
    assert best_single_changes(table, rest, "money")[0].instead == "fast"
    assert found[1].moves_mm == pytest.approx(10000.0 / 210.0 - 10000.0 / 250.0)
    assert len(single_changes(table, rest)) == 3


@pytest.mark.parametrize(
    "finish",
    [
        Finish(),
        Finish(glue_g=12.0, paint_g=30.0),
        Finish(station_mm=90.0),
        Finish(glue_g=9.0, paint_g=20.0, station_mm=90.0),
        Finish(paint_g=25.0),
    ],
)
def test_a_proposal_keeps_its_promise_when_it_is_built(finish):
    """Mass and balance of the changed airframe are those that the table promised."""
    plane = airframe(
        part("wing", stack=("wing", 1), hand="left", mirror=True),
        part("nose", station_mm=-50.0),
        part("tail", "foam", station_mm=500.0),
        fittings=(Fitting("battery", 150.0, station_mm=-80.0), Fitting("wire", 5.0)),
        finish=finish,
        stacks=(StackPlace("wing", 10.0, "across"),),
    )
    deposits = {
        "wing": deposit("wing", 80.0, in_mesh=(60.0, 0.0, 40.0), surface=9e4),
        "nose": deposit("nose", 40.0, surface=4e4),
        "tail": deposit("tail", 30.0, surface=5e4),
    }
    light = deposit("wing", 50.0, support_share=0.1, in_mesh=(65.0, 0.0, 40.0), surface=9e4)
    copies = pieces(plane)
    mass = airframe_mass(plane, plane.parts, deposits, copies, FILAMENTS)
    offers = {"wing": (Offer("thick", deposits["wing"], 100.0, 300), Offer("thin", light, 150.0, 400))}
    table = alternatives(plane, plane.parts, deposits, copies, mass, offers)
    rest = rest_of(plane, copies, mass, table)
    as_planned = totals(rest, [row for row in table if row.planned])
    assert as_planned.mass_g == pytest.approx(mass.total_g)
    assert as_planned.station_mm == pytest.approx(balance(plane, mass).station_mm)
    proposal = least_change(table, rest, Targets(mass_g=mass.total_g - 20.0))
    assert [row.name for row in proposal.changed] == ["thin"]
    built = airframe_mass(plane, plane.parts, {**deposits, "wing": light}, copies, FILAMENTS)
    assert proposal.totals.mass_g == pytest.approx(built.total_g)
    assert proposal.totals.station_mm == pytest.approx(balance(plane, built).station_mm)


def test_a_large_airframe_is_solved_and_repeats():
    """60 parts of six ways each: proved, and the same choice twice."""
    table = made_table(9, parts=60, ways=6)
    before = totals(REST, [row for row in table if row.planned])
    targets = Targets(0.8 * before.mass_g, before.minutes, before.cost_minor)
    first, again = (least_change(table, REST, targets) for _ in range(2))
    assert first.proved
    assert first == again


def test_a_proposal_aims_at_the_middle_by_what_fittings_can_be_moved():
    """400 g balance at 42 mm; 34 at most are wanted, 22 is the middle. A nose of 50 g sits at -100 mm.

    As 80 g it gives 13 800 / 430 = 32 mm, as 130 g 8 800 / 480 = 18 mm. Aimed at the middle the second is
    taken; where fittings can be moved by 3 000 g mm the first comes to 25 mm and is near enough, and with
    4 000 g mm nothing has to change: 12 800 / 400 = 32 mm.
    """
    table = [
        Alternative("nose", "plain", 50.0, 10.0, 10, -100.0, planned=True),
        Alternative("nose", "thick", 80.0, 20.0, 20, -100.0),
        Alternative("nose", "solid", 130.0, 90.0, 90, -100.0),
    ]
    rest = Rest(350.0, 350.0, 400.0 * 42.0 + 5000.0)
    window = (10.0, 34.0)

    def taken(**more) -> list[str]:
        found = least_change(table, rest, Targets(window_mm=window, **more))
        assert found.proved
        return [row.name for row in found.changed]

    assert taken() == ["thick"]
    assert taken(aim=True) == ["solid"]
    assert taken(aim=True, movable_gmm=(-3000.0, 0.0)) == ["thick"]
    assert taken(aim=True, movable_gmm=(-4000.0, 0.0)) == []
