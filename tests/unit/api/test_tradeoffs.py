"""What is wished for, as it is written: in the workshop's money and hours, or refused by its option."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from planner.api import tradeoffs
from planner.api.request import PlanRequest
from planner.api.tradeoffs import TradeoffRequest
from planner.errors import OutputError, PlanFault, RecordError
from planner.model.attendance import Attendance
from planner.tradeoffs.study import Study, Wishes
from tests.plan_samples import sample_plan

START = datetime(2026, 12, 1, 18, 0, tzinfo=ZoneInfo("Europe/Lisbon"))


def _job(currency: str = "EUR") -> Any:
    shop = SimpleNamespace(currency=currency, attendance=Attendance(zone="Europe/Lisbon"))
    return SimpleNamespace(workshop=shop, start=START)


def test_nothing_wished_is_nothing_asked() -> None:
    wishes = tradeoffs._wishes(_job(), TradeoffRequest(), START)
    assert wishes == Wishes()
    assert not wishes.any


def test_wishes_in_the_units_of_the_plan() -> None:
    """Money in its smallest unit, a date on the workshop's clock."""
    wanted = TradeoffRequest(640.0, "2026-12-05T10:00+02:00", "42.50 EUR", balance_inside=True)
    wishes = tradeoffs._wishes(_job(), wanted, START)
    assert wishes == Wishes(640.0, datetime(2026, 12, 5, 8, 0, tzinfo=UTC), 4250, True)
    assert wishes.finish is not None
    assert wishes.finish.tzinfo == ZoneInfo("Europe/Lisbon")
    yen = tradeoffs._wishes(_job("JPY"), TradeoffRequest(cost_at_most="4200 JPY"), START)
    assert yen.cost_minor == 4200


REFUSED = [
    ({"cost_at_most": "42 USD"}, "--cost-at-most", "'42 USD' is in USD, but the workshop counts in EUR."),
    ({"finish_by": "soon"}, "--finish-by", "'soon' is not a date and time."),
    (
        {"finish_by": "2026-12-01T18:00"},
        "--finish-by",
        "'2026-12-01T18:00' is not after the start of the plan (2026-12-01 18:00).",
    ),
]


@pytest.mark.parametrize(("asked", "where", "what"), REFUSED)
def test_a_wish_that_cannot_be_is_refused_by_its_option(asked: dict[str, Any], where: str, what: str) -> None:
    with pytest.raises(RecordError) as caught:
        tradeoffs._wishes(_job(), TradeoffRequest(**asked), START)
    assert (caught.value.where, caught.value.what) == (where, what)
    assert caught.value.next_step


def test_money_that_is_none_is_refused_with_what_to_write() -> None:
    with pytest.raises(RecordError) as caught:
        tradeoffs._wishes(_job(), TradeoffRequest(cost_at_most="cheap"), START)
    assert caught.value.where == "--cost-at-most"
    assert "cheap" in caught.value.what


def test_the_study_is_written_whole_and_only_into_a_place_of_ours(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Refused before it is studied; else sheet and record of one study, and the report told last."""
    found = Study(sample_plan(), Wishes(mass_g=1.0), {}, (), (), refusal="nothing is light enough")
    seen: list[object] = []
    monkeypatch.setattr("planner.api.planning.read_job", lambda *_: seen.append("read") or _job())
    monkeypatch.setattr("planner.pipeline.coloured.coloured", lambda job, *_: job)
    monkeypatch.setattr(
        "planner.pipeline.tradeoff.study", lambda _, wishes, *__: seen.append(wishes) or found
    )
    out = tmp_path / "out"
    out.mkdir()
    (out / "letter.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError):
        tradeoffs.tradeoff_folder(PlanRequest((tmp_path,), out=out), TradeoffRequest(1.0), START)
    assert seen == []
    (out / "letter.txt").unlink()
    steps: list[tuple[str, int, int]] = []
    asked = PlanRequest((tmp_path,), out=out)
    monkeypatch.setattr("planner.pipeline.verify.faults", lambda _: ["a spool is empty"])
    with pytest.raises(PlanFault, match="a spool is empty"):
        tradeoffs.tradeoff_folder(asked, TradeoffRequest(1.0), START)
    assert list(out.iterdir()) == []
    seen.clear()
    monkeypatch.setattr("planner.pipeline.verify.faults", lambda _: [])
    made = tradeoffs.tradeoff_folder(asked, TradeoffRequest(1.0), START, lambda *step: steps.append(step))
    assert made is found
    assert seen == ["read", Wishes(mass_g=1.0)]
    assert steps[-1] == ("report", 0, 1)
    told = tradeoffs.tradeoff_told(found, as_json=True, report=out / "tradeoff.html")
    assert (out / "tradeoff.json").read_text(encoding="utf-8") == told
    assert json.loads(told)["reached"] is False
    assert "nothing is light enough" in told
    assert "nothing is light enough" in (out / "tradeoff.html").read_text(encoding="utf-8")


def test_the_text_of_a_trade_off_fits_the_terminal() -> None:
    found = Study(sample_plan(), Wishes(mass_g=1.0), {}, (), (), refusal="nothing is light enough")
    text = tradeoffs.tradeoff_told(found, as_json=False, report=Path("there/tradeoff.html"))
    assert "nothing is light enough" in text
    assert "there/tradeoff.html" in text
    assert all(len(line) <= 80 for line in text.splitlines())
