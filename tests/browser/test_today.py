"""A visit beside the printers, lived through on a phone: taps, a network that comes and goes, a new plan."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from planner.api.recording import Told, record
from planner.ledger.fact import Fact
from planner.ledger.reading import Reader
from planner.web.ledger import place_for
from tests.browser.conftest import COMMAND, Running, drop, until
from tests.browser.test_access import findings
from tests.small_job import write_small_job

pytestmark = [pytest.mark.slow, pytest.mark.browser]

WAITING = "document.querySelectorAll('#waiting-list li').length"
ONE_DONE = (("began", "bed 1"), ("began", "bed 2"), ("done", "bed 1"))
WORKSHOP_TIMES = '\n[[attendance]]\nfrom = "07:00"\nuntil = "22:00"\n'
# Source: ISO 9241-303: 16 minutes of arc at least; capitals are 0.72 of the letters' size (Liberation Sans,
# measured); 132 pixels to the inch of a tablet (from memory).
CAPITAL_MM = 2000.0 * 0.004654
PIXEL_MM = 25.4 / 132.0


@pytest.fixture(scope="module")
def planned(browser: Any, served: Running, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small airframe, dropped and planned from now on; somebody is always there; nobody touches it."""
    kit = write_small_job(tmp_path_factory.mktemp("kit") / "glider")
    workshop = kit / "workshop.toml"
    text = workshop.read_text(encoding="utf-8")
    assert WORKSHOP_TIMES in text
    workshop.write_text(text.replace(WORKSHOP_TIMES, ""), encoding="utf-8")
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.goto(served.address)
    drop(page, [kit])
    page.wait_for_url("**/a/glider")
    page.wait_for_selector(".part")
    page.click("nav >> text=Plan")
    page.select_option("#effort", "quick")
    page.click("#make-plan")
    page.wait_for_selector(".answer")
    page.wait_for_selector("#running", state="hidden")
    context.close()
    return served.workspace / "glider"


@pytest.fixture(name="airframe")
def _airframe(served: Running, planned: Path, request: pytest.FixtureRequest) -> Path:
    """One of a test's own, of which nothing was told: tests run in any order, and each by itself."""
    own = served.workspace / f"kite {request.node.name}"[:60]
    shutil.copytree(planned, own)
    return own


def begun(airframe: Path, *told: tuple[str, ...]) -> None:
    """Bring an airframe to where a test begins, by what the terminal would tell."""
    for words in told:
        record(place_for(airframe), Told(words), datetime.now().astimezone())


@pytest.fixture
def phone(browser: Any, served: Running, airframe: Path) -> Iterator[Any]:
    """The sheet on a phone; nothing but what a test breaks on purpose may go wrong in it."""
    assert airframe.is_dir()
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(served.address)
    page.goto(today_of(served, airframe))
    page.wait_for_selector("body[data-ready]")
    yield page
    context.close()
    assert wrong == []


def today_of(served: Running, airframe: Path, sheet: str = "today") -> str:
    """The address of its sheet."""
    return f"{served.base}/a/{quote(airframe.name)}/{sheet}"


def facts(airframe: Path) -> list[Fact]:
    """What counts."""
    if not (airframe / "ledger.sqlite").is_file():
        return []
    with Reader(airframe / "ledger.sqlite") as ledger:
        return list(ledger.facts())


def told(airframe: Path) -> list[tuple[str, str, str]]:
    """Kind, about, who of every fact that counts."""
    return [(fact.kind, fact.about, fact.who) for fact in facts(airframe)]


def narrow(page: Any) -> bool:
    """Whether nothing sticks out to the side, with everything unfolded."""
    return bool(page.evaluate("document.documentElement.scrollWidth <= innerWidth"))


def unfold(page: Any) -> None:
    """Open everything that can be opened."""
    page.evaluate("document.querySelectorAll('#sheet details').forEach((one) => { one.open = true; })")


def settled(page: Any) -> None:
    """Until nothing waits and the sheet was made anew."""
    until(page, f"{WAITING} === 0")
    page.wait_for_timeout(300)


def test_a_visit_with_a_network_that_comes_and_goes(phone: Any, airframe: Path, served: Running) -> None:
    """Start two beds, lose the network, tell on, reload, come back: each fact is there once."""
    page = phone
    assert findings(page) == []
    for step in ("start bed 1 on", "start bed 2 on"):
        page.tap(f"button.step:has-text('{step}')")
        page.wait_for_selector(f"button.step:has-text('{step}')", state="detached")
    assert told(airframe) == [("began", "bed 1", "page"), ("began", "bed 2", "page")]
    assert page.locator("article.now.told").count() == 2
    unfold(page)
    assert narrow(page)
    assert findings(page) == []

    page.context.set_offline(True)
    page.tap("article:has-text('bed 1') button:has-text('Done')")
    until(page, f"{WAITING} === 1")
    assert page.locator("article:has-text('bed 1') button:has-text('Done')").is_disabled()
    page.wait_for_selector("#waiting-words:has-text('Nothing is lost')")
    assert len(facts(airframe)) == 2
    assert findings(page) == []
    page.context.set_offline(False)
    settled(page)
    page.wait_for_selector("#weigh")
    assert told(airframe)[2:] == [("done", "bed 1", "page")]

    # The page gives sheets, but what is told is lost: a reload keeps it, and what was tapped shows so.
    page.route("**/fact", lambda route: route.abort())
    page.fill("#grams", "12,5")
    page.tap("#weigh label:has-text('fuselage')")
    assert page.get_attribute("#grams", "inputmode") == "decimal"
    page.tap("#weigh button")
    page.tap("article:has-text('bed 2') button:has-text('Done')")
    until(page, f"{WAITING} === 2")
    page.reload()
    until(page, f"{WAITING} === 2")
    assert page.locator("article:has-text('bed 2') button:has-text('Done')").is_disabled()
    assert len(facts(airframe)) == 3
    page.unroute("**/fact")
    settled(page)
    assert told(airframe)[3:] == [("weighed", "fuselage", "page"), ("done", "bed 2", "page")]
    assert facts(airframe)[3].data["grams"] == 12.5
    page.tap(".told button:has-text('Take back')")
    page.wait_for_selector("article:has-text('bed 2')")
    assert told(airframe)[3:] == [("weighed", "fuselage", "page")]


def test_an_answer_that_is_lost_makes_no_second_fact(phone: Any, airframe: Path) -> None:
    """The page has written it, the phone never heard so and sends it again under the same id."""
    page = phone
    begun(airframe, *ONE_DONE)
    page.reload()
    page.wait_for_selector("body[data-ready]")
    before, sent = len(facts(airframe)), []

    def once(route: Any) -> None:
        sent.append(json.loads(route.request.post_data)["uid"])
        if len(sent) > 1:
            route.continue_()
            return
        assert route.fetch().ok
        route.abort()

    page.route("**/fact", once)
    page.tap("#spools summary")
    page.fill("#spool-grams", "612")
    page.fill("#spool-tare", "250")
    page.tap("#spools button")
    settled(page)
    assert len(sent) == 2
    assert len(set(sent)) == 1
    made = facts(airframe)[before:]
    assert [(fact.kind, fact.uid, fact.data["grams"]) for fact in made] == [("spool weighed", sent[0], 362.0)]


def test_what_is_refused_is_told_and_dropped(phone: Any, airframe: Path, served: Running) -> None:
    """The terminal was first: the words are those of the command, and nothing is written."""
    page = phone
    begun(airframe, *ONE_DONE)
    page.wait_for_selector("article.now.told:has-text('bed 2')")
    page.context.set_offline(True)
    page.tap("article:has-text('bed 2') button:has-text('Done')")
    until(page, f"{WAITING} === 1")
    command = [sys.executable, "-m", "planner", "record", "bed 2", "failed"]
    command += ["--in", str(airframe), "--plan", str(airframe / "plan")]
    subprocess.run(command, check=True, capture_output=True)
    page.context.set_offline(False)
    page.wait_for_selector("#waiting-list li[data-state=refused]")
    words = page.inner_text("#waiting-list")
    assert "bed 2 is recorded as failed" in words
    assert told(airframe)[-1] == ("failed", "bed 2", "terminal")
    page.reload()
    page.wait_for_selector("#waiting-list li[data-state=refused]")
    page.tap("#waiting-list button:has-text('Drop it')")
    page.wait_for_selector("#waiting", state="hidden")
    page.tap(".told button:has-text('Take back')")
    page.wait_for_selector("article:has-text('bed 2')")


def test_pieces_of_a_failed_bed_are_tapped_and_the_next_plan_is_taken(
    phone: Any, airframe: Path, served: Running
) -> None:
    """What changes is shown before anything does; once taken, timetable and calendar follow."""
    page, results = phone, airframe / "plan"
    begun(airframe, *ONE_DONE)
    page.wait_for_selector("article.now.told:has-text('bed 2')")
    before = {name: (results / name).read_bytes() for name in ("plan.json", "report.html")}
    calendar = next(results.glob("*.ics")).read_bytes()
    page.tap("article:has-text('bed 2') summary:has-text('Failed')")
    page.locator("article:has-text('bed 2') [data-tap] polygon").first.dispatch_event("click")
    assert page.locator("article:has-text('bed 2') [name=good]:checked").count() == 1
    page.tap("article:has-text('bed 2') button:has-text('It failed')")
    settled(page)
    assert facts(airframe)[-1].data["good"] == ["wing L L"]

    page.tap("#go-on")
    page.wait_for_selector("#onward-take")
    assert page.locator(".what tbody tr").count() >= 7
    assert {name: (results / name).read_bytes() for name in before} == before
    unfold(page)
    assert narrow(page)
    assert findings(page) == []
    page.tap("#onward-take")
    page.wait_for_selector("#onward-take", state="detached")
    page.wait_for_selector("button.step:has-text('start bed 3')")
    fresh = json.loads((results / "plan.json").read_text(encoding="utf-8"))
    assert [past["outcome"] for past in fresh["past"]] == ["done", "failed"]
    assert next(results.glob("*.ics")).read_bytes() != calendar
    page.goto(today_of(served, airframe, "timetable"))
    assert "bed 3" in page.inner_text("#sheet-body")
    assert not (airframe / ".page" / "onward").exists()


def test_letters_are_read_from_two_metres(browser: Any, served: Running, airframe: Path) -> None:
    """On a tablet, both ways round; and targets are large enough for a glove."""
    for width, height in ((820, 1180), (1180, 820)):
        context = browser.new_context(
            viewport={"width": width, "height": height}, has_touch=True, is_mobile=True
        )
        page = context.new_page()
        page.goto(served.address)
        page.goto(today_of(served, airframe))
        page.wait_for_selector("body[data-ready]")
        for what in (".visit .clock", "button.step"):
            size = page.evaluate(f"parseFloat(getComputedStyle(document.querySelector('{what}')).fontSize)")
            assert 0.72 * size * PIXEL_MM >= CAPITAL_MM, (what, size)
        unfold(page)
        low = page.evaluate(
            "Math.min(...[...document.querySelectorAll('#today button, .tap, #today summary.wide')]"
            ".map((one) => one.getBoundingClientRect().height))"
        )
        assert low >= 44.0  # Source: WCAG 2.2, 2.5.5 Target Size (Enhanced)
        assert narrow(page)
        context.close()


def test_the_keyboard_ticks_and_tells(browser: Any, served: Running, airframe: Path) -> None:
    """Every step is a button; pieces are ticked by the space bar."""
    begun(airframe, *ONE_DONE[:1], ONE_DONE[2])
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(served.address)
    page.goto(today_of(served, airframe))
    page.wait_for_selector("body[data-ready]")
    before = len(facts(airframe))
    page.focus("button.step:has-text('start bed 2 on')")
    page.keyboard.press("Enter")
    page.wait_for_selector("article.now.told:has-text('bed 2')")
    assert len(facts(airframe)) == before + 1
    page.focus("#weigh [name=piece]")
    page.keyboard.press("Space")
    page.focus("#grams")
    page.keyboard.type("none")
    page.keyboard.press("Enter")
    page.wait_for_selector("#weigh .wrong")
    assert len(facts(airframe)) == before + 1
    assert page.evaluate("document.activeElement.id") == "grams"
    context.close()


def test_what_waits_outlives_the_page(browser: Any, served: Running, airframe: Path, tmp_path: Path) -> None:
    """The page ends before it has a fact; another start, at the same port, gets it from the same browser."""
    begun(airframe, *ONE_DONE[:1])
    shutil.copytree(airframe, tmp_path / "w" / "kite")
    ledger = tmp_path / "w" / "kite" / "ledger.sqlite"
    before = len(facts(ledger.parent))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    with started(tmp_path / "w", port) as address:
        page.goto(address)
        page.goto(f"http://127.0.0.1:{port}/a/kite/today")
        page.wait_for_selector("body[data-ready]")
    page.click("article.told button:has-text('Done')")
    until(page, f"{WAITING} === 1")
    with started(tmp_path / "w", port) as address:
        page.wait_for_selector("#waiting-words:has-text('started anew')")
        assert len(facts(ledger.parent)) == before
        page.goto(address)
        page.goto(f"http://127.0.0.1:{port}/a/kite/today")
        page.wait_for_selector("body[data-ready]")
        settled(page)
        assert len(facts(ledger.parent)) == before + 1
    context.close()


def test_a_browser_that_keeps_nothing_says_so(phone: Any, airframe: Path) -> None:
    """Then it waits as long as the sheet is open."""
    page = phone
    begun(airframe, *ONE_DONE[:1])
    before = len(facts(airframe))
    page.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); };")
    page.reload()
    page.wait_for_selector("body[data-ready]")
    page.context.set_offline(True)
    page.tap("article.told >> nth=0 >> button:has-text('Done')")
    page.wait_for_selector("#waiting-words:has-text('keeps nothing')")
    page.context.set_offline(False)
    settled(page)
    assert len(facts(airframe)) == before + 1
    page.tap(".told button:has-text('Take back')")
    page.wait_for_selector("article.told")


@contextmanager
def started(workspace: Path, port: int) -> Iterator[str]:
    """The page over a workspace at a port of its own; its address."""
    command = [*COMMAND[:-1], str(port), "--workspace", str(workspace)]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"}
    )
    assert process.stdout is not None
    told_at = re.search(r"http://\S+", process.stdout.readline())
    assert told_at is not None
    try:
        yield told_at.group(0)
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=30)
