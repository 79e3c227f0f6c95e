"""What a plan that goes on asks of the earlier one, each question by itself and by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planner.errors import RecordError
from planner.model.away import Away
from planner.model.batch import Batch, Placed
from planner.model.budget import Place
from planner.model.filament import Filament, Spool
from planner.model.part import Piece
from planner.model.printed import Make, PrintedPiece
from planner.model.printer import Printer
from planner.model.replan import Change, EarlierFilament, EarlierPart, EarlierPlan, PastRun, Slot
from planner.model.schedule import Draw, Run, Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.pipeline.replan.again import printed_again
from planner.pipeline.replan.beds import BedsLeft, as_told
from planner.pipeline.replan.changes import changes_of
from planner.pipeline.replan.density import corrected, density_ratios
from planner.pipeline.replan.outcomes import Outcomes
from planner.pipeline.replan.printed import printed_now
from planner.pipeline.replan.same import Sameness
from planner.pipeline.replan.shelf import drawn_from, refuse_other_filament, shelf_now
from tests.unit.scheduling.workshops import MONDAY

HOUR = timedelta(hours=1)
MAKE = Make("mesh", (1.0,), "plain", "recipe", "PLA")


def bed(
    name: str,
    *pieces: str,
    minutes: float = 60.0,
    grams: float = 50.0,
    filament: str = "PLA",
    digest: str = "",
):
    placed = tuple(Placed(piece, 0.0, 0.0, 0.0, (), 10.0) for piece in pieces)
    return Batch(name, "desk", filament, 0.2, placed, minutes, grams, 50.0, 0.5, digest)


def run(
    name: str, *draws: Draw, since: float = 0.0, printer: str = "one", mark: str = "", purge: float = 1.0
) -> Run:
    begin = MONDAY + since * HOUR
    return Run(f"run of {name}", name, printer, begin, begin + HOUR, True, draws, purge, mark=mark)


DONE, FAILED = bed("bed 1", "a", "b"), bed("bed 2", "c", "d")
RUNS, OPEN = bed("bed 3", "e"), bed("bed 4", "f")
PAST = (
    PastRun(run("bed 1", Draw("1", 40.0), Draw("2", 10.0)), DONE, "done"),
    PastRun(run("bed 2", Draw("2", 20.0)), FAILED, "failed", good=("d",)),
)
EARLIER = EarlierPlan(
    "plan.json", "1", "kit", MONDAY, MONDAY + 9 * HOUR,
    parts={n: EarlierPart("PLA", "plain", 25.0, MAKE) for n in "abcdef"},
    part_of={n: n for n in "abcdef"},
    batches=(DONE, FAILED, RUNS, OPEN),
    runs=(
        run("bed 1"), run("bed 2"),
        run("bed 3", Draw("1", 50.0), since=2.0), run("bed 4", Draw("2", 50.0), since=4.0),
    ),
    past=(),
    spools=(
        SpoolUse("1", "PLA", False, 500.0, 90.0, 2.0, 408.0, 900),
        SpoolUse("2", "PLA", False, 300.0, 80.0, 1.0, 219.0, None),
        SpoolUse("new PLA 1", "PLA", True, 1000.0, 0.0, 0.0, 1000.0, 2000),
    ),
    told_g={"1": 500.0, "2": 300.0},
)  # fmt: skip
BECAME = Outcomes(
    PAST, PAST, (run("bed 3", Draw("1", 50.0), since=2.0, mark="running"),), (EARLIER.runs[3],), ()
)


# --- the shelf


def test_a_colour_that_is_asked_for_since_is_the_same_spool():
    """PLA is PLA red now, or was PLA red before: what was drawn is off it. Another filament was put on it."""
    red = Spool("1", "PLA red", 500.0, colour="red")
    assert shelf_now((red,), EARLIER, BECAME).spools[0] == replace(red, grams_left=459.0)
    known = {"PLA red": EarlierFilament(1.24, 210.0, "red", "PLA")}
    spools = tuple(replace(use, filament="PLA red") for use in EARLIER.spools)
    before = replace(EARLIER, filaments=known, spools=spools)
    assert shelf_now((Spool("1", "PLA", 500.0),), before, BECAME).spools[0].grams_left == 459.0
    assert shelf_now((Spool("1", "TPU", 500.0),), before, BECAME).spools[0].grams_left == 500.0


def test_a_bed_under_way_keeps_the_filament_of_its_spool():
    """Bed 3 draws PLA from 1: that is refused as PLA red, and while nothing runs it is not."""
    refuse_other_filament(BECAME, EARLIER, (Spool("1", "PLA", 500.0), Spool("2", "TPU", 300.0)))
    red = (Spool("1", "PLA red", 500.0, colour="red"),)
    refuse_other_filament(replace(BECAME, running=()), EARLIER, red)
    with pytest.raises(RecordError, match="bed 3 is being printed in PLA from spool 1, which is PLA red now"):
        refuse_other_filament(BECAME, EARLIER, red)


def test_what_runs_have_drawn():
    """The purge goes with the first spool of each run: 1 has lost 41 g, 2 has lost 10 + 21."""
    assert drawn_from(PAST) == {"1": 41.0, "2": 31.0}
    begun = replace(PAST[0], run=run("bed 1", Draw("1", 40.0, before_g=15.0)))
    assert drawn_from([begun]) == {"1": 25.0}


def test_the_shelf_by_hand():
    """1 is told as before and lost 41 g; 2 was weighed; 3 is new; a spool that nobody opened is not there."""
    day = date(2026, 1, 9)
    lent = (Away(day),)
    told = (Spool("1", "PLA", 500.0, 950, day, lent), Spool("2", "PLA", 268.0), Spool("3", "PLA", 80.0))
    found = shelf_now(told, EARLIER, BECAME)
    assert found.spools == (Spool("1", "PLA", 459.0, 950, day, lent), told[1], told[2])
    assert found.weighed == {"2"}
    assert [(f.about, f.weight) for f in found.findings] == [("spool 2", "note")]
    assert found.findings[0].text.endswith("taken as weighed now, 268 g")


def test_a_spool_of_another_filament_under_an_old_name():
    """It is another spool: taken as told, neither weighed nor drawn from."""
    found = shelf_now((Spool("2", "TPU", 300.0),), EARLIER, replace(BECAME, running=()))
    assert found.spools[0] == Spool("2", "TPU", 300.0)
    assert found.weighed == frozenset()


def test_more_drawn_than_a_spool_held():
    """Nothing is left, and the scale is asked."""
    less = replace(EARLIER, spools=(replace(EARLIER.spools[1], grams_before=30.0),), told_g={"2": 30.0})
    found = shelf_now((Spool("2", "PLA", 30.0),), less, replace(BECAME, running=()))
    assert found.spools == (Spool("2", "PLA", 0.0),)
    assert [f.text for f in found.findings] == ["more was drawn than it held: weigh it."]
    just = replace(EARLIER, spools=(replace(EARLIER.spools[1], grams_before=31.0),), told_g={"2": 31.0})
    assert shelf_now((Spool("2", "PLA", 31.0),), just, replace(BECAME, running=())).findings == ()


def test_new_spools_that_were_opened_are_on_the_shelf():
    """A run drew 21 g of it, or has it on now; one that nobody opened is still to be bought."""
    opened = replace(BECAME, newly=(replace(PAST[1], run=run("bed 2", Draw("new PLA 1", 20.0))),), running=())
    assert shelf_now((), EARLIER, opened).spools == (Spool("new PLA 1", "PLA", 979.0, 2000),)
    held = replace(BECAME, newly=(), running=(run("bed 3", Draw("new PLA 1", 50.0), mark="running"),))
    assert shelf_now((), EARLIER, held).spools == (Spool("new PLA 1", "PLA", 1000.0, 2000),)
    assert shelf_now((), EARLIER, replace(BECAME, newly=(), running=())).spools == ()


# --- pieces that are printed once more


def test_pieces_printed_once_more():
    """b of the bed that is done is scrapped; what was good of the failed one stays."""
    found = printed_again(BECAME, EARLIER, ("b",))
    assert [past.delivered for past in found.past] == [("a",), ("d",)]
    assert found.newly == found.past
    marked = printed_again(BECAME, replace(EARLIER, again=("d",)), ())
    assert [past.delivered for past in marked.past] == [("a", "b"), ()]


@pytest.mark.parametrize(
    ("piece", "told", "hint"),
    [
        ("e", "'e' is on bed 3, which prints now.",
         'Mark bed 3 as done first, or as failed with its --good pieces: --failed "bed 3".'),
        ("f", "'f' is not printed yet; it is on bed 4.", "Printed: a, b, d."),
        ("c", "'c' is not printed yet; it is on bed 2.", "Printed: a, b, d."),
        ("wing", "there is no piece 'wing'.", "Printed: a, b, d."),
        ("aa", "there is no piece 'aa'.", "Did you mean 'a'? Printed: a, b, d."),
    ],
)  # fmt: skip
def test_pieces_that_are_not_there_cannot_be_printed_again(piece, told, hint):
    """Told where they are, and what there is."""
    with pytest.raises(RecordError) as refusal:
        printed_again(BECAME, EARLIER, (piece,))
    assert (refusal.value.what, refusal.value.next_step) == (told, hint)
    assert refusal.value.where == "--again, plan.json"


# --- what is printed


def test_what_is_printed_now():
    """What runs have left, and what prints; as planned, or as it was remembered of the same bed."""
    place = Place(12.0)
    known = PrintedPiece("a", "bed 1", None, 9.0, 8.0, "TPU", "thin", place)
    other = replace(known, piece="b", batch="bed 0")
    earlier = replace(EARLIER, printed={"a": known, "b": other}, weights={"b": (20.0, place)})
    found = printed_now(earlier, BECAME)
    assert set(found) == {"a", "b", "d", "e"}
    assert found["a"] == known
    assert found["b"] == PrintedPiece("b", "bed 1", MAKE, 25.0, 20.0, "PLA", "plain", place)
    assert found["e"] == PrintedPiece("e", "bed 3", MAKE, 25.0, 25.0, "PLA", "plain", None)
    assert set(printed_now(replace(earlier, parts={}), BECAME)) == {"a"}


# --- whether a bed is the same


def same(
    now: dict[str, Make] | None = None, gone: tuple[str, ...] = (), digest=None, earlier=EARLIER, grams=25.0
):
    names = [n for n in "abcdefghij" if n not in gone]
    pieces = {n: Piece(n, n, False) for n in names}
    makes = {**dict.fromkeys(names, MAKE), **(now or {})}
    return Sameness(earlier, pieces, makes, dict.fromkeys(names, grams), digest)


WAS = bed("bed 9", "a", "b", "b", minutes=100.0, digest="x")


@pytest.mark.parametrize(
    ("sameness", "now", "reason"),
    [
        (same(), WAS, ""),
        (same(gone=("a",)), WAS, "a is no longer needed"),
        (same(gone=("a", "b")), bed("bed 9", "a", "b"), "a, b, b are no longer needed"),
        (same({"a": replace(MAKE, mesh_sha256="other")}), WAS, "mesh of a changed"),
        (
            same(
                {"a": replace(MAKE, filament="TPU", rotation=(0.0,)), "b": replace(MAKE, recipe_sha256="r")}
            ),
            WAS,
            "pose and filament of a changed; recipe of b changed",
        ),
        (same(), None, "printer, clearance or bed changed"),
        (same(), bed("bed 9", "a", minutes=100.0), "b, b are printed already"),
        (same(), replace(WAS, minutes=100.005), ""),
        (same(), replace(WAS, minutes=160.4), "lasts 2 h 40, not 1 h 40"),
        (same(digest=lambda _: "x"), WAS, ""),
        (same(digest=lambda _: "y"), WAS, "its file would be another one"),
        (same(digest=lambda _: "y"), replace(WAS, minutes=99.0), "lasts 1 h 39, not 1 h 40"),
    ],
)
def test_why_a_bed_is_another_one(sameness, now, reason):
    """Pieces, how they are made, what is left of them, minutes, the file: the first that differs is told."""
    assert sameness.reason(WAS, now) == reason


@pytest.mark.parametrize(
    ("now", "was", "kept"),
    [
        ((98.0449999, 15.6654999), (98.05, 15.666), (98.05, 15.666)),  # told on the other side of a half
        ((98.0001, 15.6651), (98.0, 15.665), (98.0001, 15.6651)),  # the same when told: the finer value
        ((98.03, 15.7), (98.05, 15.666), (98.03, 15.7)),  # another value
    ],
)
def test_minutes_and_grams_of_a_bed_that_stays_are_told_as_they_were(now, was, kept):
    earlier = replace(bed("bed 8", "a"), digest="d", minutes=was[0], mass_g=was[1])
    found = as_told(replace(earlier, name="", digest="", minutes=now[0], mass_g=now[1]), earlier)
    assert (found.name, found.digest, found.minutes, found.mass_g) == ("bed 8", "d", *kept)


def test_many_pieces_are_told_in_short():
    """Three by name."""
    five = bed("bed 9", *"ghijk")
    assert same(gone=tuple("ghijk")).reason(five, five) == "g, h, i and 2 more are no longer needed"


def test_a_bed_of_a_plan_that_tells_no_make():
    """By filament, recipe and grams; a file without a digest is not asked for one; a new part has no past."""
    old = replace(EARLIER, parts={n: replace(p, make=None) for n, p in EARLIER.parts.items()})
    bare = replace(WAS, digest="")
    assert same(earlier=old).reason(bare, bare) == ""
    assert same(earlier=old, grams=25.002).reason(bare, bare) == ""
    assert same(earlier=old, grams=25.1).reason(bare, bare) == "a changed; b changed"
    assert same({"a": replace(MAKE, filament="TPU")}, earlier=old).reason(bare, bare) == "a changed"
    assert same(earlier=old, digest=lambda _: "y").reason(bare, bare) == ""
    assert same(earlier=replace(EARLIER, parts={}), grams=99.0).reason(bare, bare) == ""


# --- what became of each bed


def test_changes_by_hand():
    """Over, running, staying, moved, on another spool, new and dropped, in that order."""
    later = run("bed 4", Draw("1", 50.0), since=5.5, printer="two")
    runs = (BECAME.running[0], later, run("bed 5", Draw("1", 5.0), since=8.0), run("bed 6", since=9.0))
    schedule = Schedule(runs, (), MONDAY + 10 * HOUR, 10.0, {}, None, None, 0, 0)
    left = BedsLeft((), (), {"bed 5": "again"}, {"bed 7": "no longer needed"})
    found = changes_of(EARLIER, BECAME, left, schedule, MONDAY)

    def slot(since: float, printer: str = "one") -> Slot:
        return Slot(printer, MONDAY + since * HOUR, MONDAY + (since + 1) * HOUR)

    assert found == (
        Change("bed 1", "done", slot(0.0), None, ""),
        Change("bed 2", "failed", slot(0.0), None, "good: d"),
        Change("bed 3", "running", slot(2.0), slot(2.0)),
        Change("bed 4", "moved", slot(4.0), slot(5.5, "two"), "from one to two, 1 h 30 later; spool 1"),
        Change("bed 5", "new", None, slot(8.0), "again"),
        Change("bed 6", "new", None, slot(9.0), "new bed"),
        Change("bed 7", "dropped", None, None, "no longer needed"),
    )


@pytest.mark.parametrize(
    ("now", "kind", "note"),
    [
        (run("bed 4", Draw("2", 50.0), since=4.0), "stays", ""),
        (run("bed 4", Draw("2", 30.0), Draw("1", 20.0), since=4.0), "stays", "spool 2 and 1"),
        (run("bed 4", Draw("2", 50.0), since=3.0), "moved", "1 h 00 earlier"),
        (run("bed 4", Draw("2", 50.0), since=4.0, printer="two"), "moved", "from one to two"),
    ],
)
def test_a_bed_that_had_not_begun(now, kind, note):
    """Where it runs, when, and from which spool."""
    schedule = Schedule((now,), (), now.end, 1.0, {}, None, None, 0, 0)
    (change,) = changes_of(EARLIER, replace(BECAME, newly=()), BedsLeft((), (), {}, {}), schedule, MONDAY)
    assert (change.kind, change.note) == (kind, note)


# --- densities


def shop(*filaments: Filament) -> Workshop:
    return Workshop((Printer("one", "desk"),), filaments)


WAS_PLA = {"PLA": EarlierFilament(1.2, 210.0), "foam": EarlierFilament(0.6, 240.0)}
PLA = Filament("PLA", "PLA", 1.32, 1.32, nozzle_c=220.0, spool_g=1000.0)


def foam(density: float, nozzle: float) -> Filament:
    return Filament("foam", "PLA", 1.24, density, foaming=True, nozzle_c=nozzle)


@pytest.mark.parametrize(
    ("filament", "ratios"),
    [
        (PLA, {"PLA": pytest.approx(1.1)}),
        (replace(PLA, deposited_g_per_cm3=1.2 + 5e-7), {}),
        (foam(0.66, 240.0), {"foam": pytest.approx(1.1)}),
        (foam(0.66, 245.0), {}),  # hotter now: what was printed stays as it was
        (Filament("TPU", "TPU", 1.2, 1.2), {}),  # nobody knew it
    ],
)
def test_which_densities_changed(filament, ratios):
    """Now over then."""
    assert density_ratios(replace(EARLIER, filaments=WAS_PLA), shop(filament)) == ratios


def test_an_earlier_plan_weighs_by_the_density_of_now():
    """A tenth more: beds, draws, parts and pieces; a spool that was told 600 g and lost 101 g lost 110 g."""
    past = (
        PastRun(run("bed 1", Draw("1", 60.0, before_g=10.0), Draw("2", 4.44)), DONE, "done"),
        PastRun(run("bed 2", Draw("1", 40.0), purge=0.0), FAILED, "failed"),
    )
    uses = (replace(EARLIER.spools[0], grams_before=499.0), *EARLIER.spools[1:])
    printed = {
        "a": PrintedPiece("a", "bed 1", MAKE, 20.0, 10.0, "PLA", "plain"),
        "t": PrintedPiece("t", "x", None, 20.0, 10.0, "TPU", "p"),
    }
    earlier = replace(
        EARLIER, past=past, spools=uses, told_g={"1": 600.0, "2": 300.0}, filaments=WAS_PLA,
        printed=printed, weights={"a": (10.0, None), "f": (30.0, Place(1.0)), "?": (5.0, None)},
    )  # fmt: skip
    made, findings = corrected(earlier, shop(PLA))
    assert [b.mass_g for b in made.batches] == pytest.approx([55.0] * 4)
    assert made.past[0].run.draws == (Draw("1", 66.0, 11.0), Draw("2", 4.88))
    assert made.past[0].batch.mass_g == pytest.approx(55.0)
    assert made.runs[2].draws == (Draw("1", 55.0),)
    assert made.parts["f"].mass_g == pytest.approx(27.5)
    assert (made.printed["a"].mass_g, made.printed["a"].flying_g) == pytest.approx((22.0, 11.0))
    assert made.printed["t"] == printed["t"]
    assert made.weights["f"] == (pytest.approx(33.0), Place(1.0))
    assert made.weights["?"] == (5.0, None)
    # 600 - 100 - 1 of purge is what it held; of the 100 g that were drawn 110 are gone
    assert made.spools[0].grams_before == pytest.approx(489.0)
    assert made.spools[1:] == earlier.spools[1:]  # nobody knows what these lost
    assert [f.about for f in findings] == ["filament PLA"]
    assert findings[0].text == (
        "1.2 g/cm3 in the plan before, 1.32 now: what was printed of it counts 10.0 % more"
        " (draws of before: 104 g, now 115 g)."
    )
    assert corrected(earlier, shop(foam(0.6, 240.0))) == (earlier, ())
