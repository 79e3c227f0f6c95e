"""Several folders as one request: what cannot be told apart is refused, and nothing is written."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from planner.api.ledger_plan import airframe_name, ledger_of
from planner.api.looking import check_folder
from planner.api.planning import plan_folder
from planner.api.reading import read_job
from planner.api.request import PlanRequest
from planner.api.several import is_several, own_ledgers, refuse_several, shared_workshop
from planner.api.several_job import read_several
from planner.api.tradeoffs import TradeoffRequest, tradeoff_studied
from planner.errors import InputError, PlannerError
from planner.model.choices import Choices
from tests.builders import box, stl_bytes

NOW = datetime(2026, 12, 1, 18, tzinfo=UTC)
WORKSHOP = 'currency = "EUR"\n[[printer]]\nname = "desk"\nlike = "desktop 220"\n'


def airframe(folder: Path, name: str, more: str = "", filament: str = "PLA") -> Path:
    """A folder with two blocks, of which one belongs to an option, and a battery."""
    folder.mkdir()
    for mesh in ("rib", "tip"):
        (folder / f"{mesh}.stl").write_bytes(stl_bytes(box(20.0, 20.0, 10.0)))
    (folder / "airframe.toml").write_text(
        f'[airframe]\nname = "{name}"\n{more}\n[[part]]\nmesh = "rib.stl"\nsection = "wing"\ncopies = 2\n'
        f'filament = "{filament}"\n[[part]]\nmesh = "tip.stl"\noption = {{ tip = "long" }}\n'
        '[[fitting]]\nname = "battery"\nmass_g = 60\nstation_mm = 30\noption = { tip = "short" }\n',
        encoding="utf-8",
    )
    return folder


@pytest.fixture(name="two")
def _two(tmp_path: Path) -> PlanRequest:
    """Two folders beside each other, and one workshop beside both."""
    (tmp_path / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    rows = (airframe(tmp_path / "a", "glider", "due = 2026-12-24"), airframe(tmp_path / "b", "wing b"))
    return PlanRequest(rows, out=tmp_path / "out", effort="quick")


def refused(request: PlanRequest) -> str:
    """The one sentence of the refusal; nothing was written."""
    with pytest.raises(InputError) as caught:
        plan_folder(request, NOW)
    assert not request.out.exists()
    assert caught.value.next_step
    return str(caught.value)


def test_equal_names_are_told_apart_by_the_airframe(two: PlanRequest) -> None:
    job = read_job(two, NOW)
    assert [part.name for part in job.airframe.parts] == [
        "glider / rib",
        "glider / tip",
        "wing b / rib",
        "wing b / tip",
    ]
    assert set(job.meshes) == {f"{n} / {m}.stl" for n in ("glider", "wing b") for m in ("rib", "tip")}
    assert set(job.watertight) == set(job.meshes)
    assert job.airframe.name == airframe_name(two) == "glider + wing b"
    assert set(job.airframe.section_dates.values()) == {date(2026, 12, 24)}
    assert all(key.startswith("glider / ") for key in job.airframe.section_dates)
    assert sum("option tip: nothing was chosen" in note for note in job.assumptions) == 1


def test_a_folder_and_no_copies_is_one_airframe(two: PlanRequest) -> None:
    one = replace(two, sources=two.sources[:1])
    assert not is_several(one)
    assert is_several(two)
    assert is_several(replace(one, copies=2))
    assert read_job(one, NOW).airframe.members == ()


def test_copies_have_names_and_dates_of_their_own(two: PlanRequest) -> None:
    one = replace(two, sources=two.sources[:1], copies=3, every_days=7, options={"tip": "short"})
    job = read_several(one, NOW)
    assert [m.name for m in job.airframe.members] == ["glider 1", "glider 2", "glider 3"]
    assert [m.due for m in job.airframe.members] == [date(2026, 12, 24), date(2026, 12, 31), date(2027, 1, 7)]
    assert job.airframe.section_dates["glider 3 / wing"] == date(2027, 1, 7)
    assert job.meshes["glider 1 / rib.stl"] is job.meshes["glider 3 / rib.stl"]
    assert job.choices.options == {f"glider {k} / tip": "short" for k in (1, 2, 3)}
    assert job.airframe.name == airframe_name(one) == "3 x glider"
    again = read_several(replace(one, options={}, held=Choices(options=job.choices.options)), NOW)
    assert again.airframe.options == job.airframe.options


def test_an_option_says_whose_it_is(two: PlanRequest) -> None:
    job = read_job(replace(two, options={"wing b / tip": "short"}), NOW)
    assert job.airframe.options == {"glider / tip": "long", "wing b / tip": "short"}
    assert job.choices.options == {"wing b / tip": "short"}
    assert "whose option is 'tip'" in refused(replace(two, options={"tip": "short"}))
    assert "no choice 'wide'" in refused(replace(two, options={"glider / tip": "wide"}))


def test_folders_that_are_not_apart_are_refused(two: PlanRequest, tmp_path: Path) -> None:
    a, b = two.sources
    assert "named twice" in refused(replace(two, sources=(a, tmp_path / "b" / ".." / "a")))
    inner = airframe(a / "inner", "inner")
    assert "lies within" in refused(replace(two, sources=(a, inner)))
    assert "lies within" in refused(replace(two, sources=(inner, a)))
    assert "this is no folder" in refused(replace(two, sources=(a, b, b / "rib.stl")))
    assert "one airframe file" in refused(replace(two, airframe_file=a / "airframe.toml"))


def test_names_that_are_not_apart_are_refused(two: PlanRequest, tmp_path: Path) -> None:
    a, _ = two.sources
    same = airframe(tmp_path / "c", "glider")
    assert "two airframes are named 'glider'" in refused(replace(two, sources=(a, same)))
    odd = airframe(tmp_path / "d", "left / right")
    assert "holds ' / '" in refused(replace(two, sources=(a, odd)))


def test_what_is_wrong_in_one_folder_names_it(two: PlanRequest, tmp_path: Path) -> None:
    a, b = two.sources
    text = (b / "airframe.toml").read_text(encoding="utf-8")
    (b / "airframe.toml").write_text(f'{text}price = "3.00 USD"\n', encoding="utf-8")
    told = refused(two)
    assert told.startswith(str(b))
    assert "USD" in told
    empty = tmp_path / "empty"
    empty.mkdir()
    assert refused(replace(two, sources=(a, empty))).startswith(f"{empty}: no usable mesh")


def test_counts_and_dates_that_make_no_sense_are_refused(two: PlanRequest) -> None:
    one = replace(two, sources=two.sources[1:])
    assert "0 copies" in refused(replace(one, copies=0))
    assert "51 copies" in refused(replace(one, copies=51))
    assert "has no date" in refused(replace(one, copies=2, every_days=3))


def test_the_one_workshop_is_named_where_the_folders_find_two(two: PlanRequest, tmp_path: Path) -> None:
    found = shared_workshop(two)
    assert found is not None
    assert found.resolve() == (tmp_path / "workshop.toml").resolve()
    (two.sources[0] / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    assert "different workshops" in refused(two)
    named = replace(two, workshop_file=two.sources[0] / "workshop.toml")
    assert shared_workshop(named) == two.sources[0] / "workshop.toml"
    assert len(read_job(named, NOW).airframe.members) == 2


def test_a_ledger_of_one_alone_is_refused(two: PlanRequest) -> None:
    assert ledger_of(two) is None
    (two.sources[1] / "ledger.sqlite").write_bytes(b"")
    assert own_ledgers(two, "ledger.sqlite") == (two.sources[1] / "ledger.sqlite",)
    assert "one of the airframes alone" in refused(two)


def test_looks_and_trade_offs_take_one(two: PlanRequest) -> None:
    for asked in (
        lambda: check_folder(two, NOW),
        lambda: tradeoff_studied(two, TradeoffRequest(mass_at_most_g=1.0), NOW),
        lambda: refuse_several(replace(two, sources=two.sources[:1], copies=2), "a look"),
    ):
        with pytest.raises(PlannerError, match="one airframe at a time"):
            asked()
