"""A short run of sessions of the page, and that their oracles tell what is wrong."""

from __future__ import annotations

import json
import sqlite3
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.campaign import keep, page
from tests.campaign.page import Session, drawn, intrudes, lived, lost, tells
from tests.campaign.served import Answer, Served

linux_only = pytest.mark.skipif(sys.platform != "linux", reason="processes are looked at as Linux shows them")


@pytest.mark.slow
@linux_only
def test_a_session_of_the_page() -> None:
    """Drops, edits, facts, strangers, ends of the page: nothing is lost, nothing fails."""
    session, faults = lived(drawn(np.random.default_rng(1)), 40)
    assert faults == []
    assert session.asked >= 40
    assert 20.0 < session.served.most_mb < page.MOST_MB


class Told(Served):
    """A page that gives one answer to everything."""

    answer = Answer(200, b'{"revision": "r"}')

    def ask(self, *_: Any, **__: Any) -> Answer:
        """The same whatever is asked."""
        return self.answer


@pytest.fixture(name="session")
def _session(tmp_path: Path) -> Session:
    """Nothing was confirmed yet."""
    (tmp_path / "glider").mkdir()
    return Session(Told(tmp_path, tmp_path / "log"), np.random.default_rng(1))


def test_what_is_lost_is_told(session: Session) -> None:
    """A file, an edit, a fact that were confirmed; what is there is not told."""
    record = session.served.workspace / "glider" / "airframe.toml"
    record.write_text("edited", encoding="utf-8")
    session.records = session.written()
    assert lost(session) == []
    record.write_text("as before", encoding="utf-8")
    session.drops, session.facts = {"kit/a.stl": "0"}, {"uid-1": ["bed 1", "done"]}
    assert lost(session) == [
        "kit/a.stl was confirmed and is not there",
        "an edit was confirmed and is not there",
        "['bed 1', 'done'] was confirmed and is not in the ledger",
    ]
    with sqlite3.connect(session.served.workspace / "glider" / "ledger.sqlite") as ledger:
        ledger.execute("CREATE TABLE fact (uid TEXT)")
        ledger.execute("INSERT INTO fact VALUES ('uid-1'), ('x'), ('x')")
    ledger.close()
    session.drops = {}
    assert lost(session) == ["a fact is there twice"]


def test_an_error_of_the_server_is_a_fault(session: Session) -> None:
    """Whatever was asked."""
    session.served.answer = Answer(500)  # type: ignore[attr-defined]
    session.ask("GET", "/a/glider")
    assert session.faults == ["GET /a/glider: 500"]


def test_a_stranger_who_is_let_in_is_a_fault(session: Session) -> None:
    """Without the cookie, from another origin, under another name."""
    for _ in range(40):
        session.rng = np.random.default_rng(len(session.faults) + 7)
        session.pick = lambda among: among[0]  # type: ignore[method-assign]
        intrudes(session)
    assert session.faults[0] == "a request with another cookie was answered with 200"


class Two:
    """Dice that show one number."""

    def integers(self, *_: int) -> int:
        """Always the same."""
        return 2


def test_a_fact_that_is_refused_the_second_time_is_a_fault(session: Session) -> None:
    """Who lost the answer must be able to send it again."""
    answers = iter([Answer(200, b"{}"), Answer(422, b"{}")])
    session.served.ask = lambda *_, **__: next(answers)  # type: ignore[method-assign]
    session.rng = Two()  # type: ignore[assignment]
    tells(session)
    assert list(session.facts) == ["phone-000000002"]
    assert session.faults == ["['bed 1', 'failed'] was taken once and refused when sent again"]


@pytest.mark.slow
@linux_only
def test_a_session_that_fails_is_kept_with_few_acts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An edit that is taken for another one: the acts that have nothing to do with it are left out."""

    def blames(session: Session) -> None:
        session.ask("GET", page.A)
        session.faults.append("an edit was confirmed and is not there")

    monkeypatch.setattr(page, "_NAMED", {"reads": page.reads, "edits": blames})
    acts = [("reads", 1), ("reads", 2), ("edits", 3), ("reads", 4)]
    monkeypatch.setattr(page, "drawn", lambda _: iter(acts))
    monkeypatch.setattr(keep, "_at", [tmp_path])
    found = page.case(0, 1)
    assert found.fault == "an edit was confirmed and is not there"
    (kept,) = (tmp_path / keep.CAMPAIGNS).iterdir()
    record = json.loads(kept.read_text(encoding="utf-8"))
    assert (record["kind"], record["acts"]) == ("page", [["edits", 3]])
    assert page.again(record) == found.fault
