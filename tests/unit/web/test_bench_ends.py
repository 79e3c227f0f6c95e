"""The warm process ends with the page, whoever still waits for it."""

from __future__ import annotations

import errno
import multiprocessing
import threading
from typing import Any

import pytest

from planner.errors import InputError
from planner.web.jobs import worker, worker_tasks
from planner.web.jobs.run_work import told
from planner.web.jobs.worker import Bench, serve
from planner.web.words import say
from planner.web.workspace import FULL


class Slow:
    """Both ends of work that takes until the pipe is closed."""

    def __init__(self) -> None:
        self.closed = threading.Event()
        self.begun = threading.Event()

    def send(self, work: Any) -> None:
        self.begun.set()

    def recv(self) -> Any:
        assert self.closed.wait(10.0)
        raise EOFError

    def close(self) -> None:
        self.closed.set()


class Killed(threading.Thread):
    """A process at whose end the pipe hears of it, and not before."""

    def __init__(self, pipe: Slow) -> None:
        super().__init__(target=lambda: None)
        self.pipe = pipe

    def kill(self) -> None:
        self.pipe.closed.set()


@pytest.mark.parametrize(
    ("number", "told"),
    [(FULL[0], say("disk_full")), (FULL[1], say("disk_full")), (errno.EIO, "OSError: [Errno 5] no")],
)
def test_a_full_disk_is_told_by_the_warm_process(
    monkeypatch: pytest.MonkeyPatch, number: int, told: str
) -> None:
    """In words of its own, not as a process that ended."""

    def full(*_: object) -> None:
        raise OSError(number, "no")

    monkeypatch.setattr(worker, "alone", lambda: None)
    monkeypatch.setitem(worker_tasks.WORK, "look", full)
    here, there = multiprocessing.get_context("spawn").Pipe()
    here.send(("look", ()))
    working = threading.Thread(target=serve, args=(there,))
    working.start()
    kind, value = here.recv()
    here.close()
    working.join(10.0)
    assert (kind, str(value)) == ("failed", told)
    assert isinstance(value, InputError) == (number in FULL)


def test_work_whose_page_is_gone_ends_without_a_word(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """In the warm process and in that of a plan: what can be told to nobody is no bug."""
    monkeypatch.setattr(worker, "alone", lambda: None)
    context = multiprocessing.get_context("spawn")
    for work in (lambda pipe: serve(pipe), lambda pipe: told(pipe).__enter__()("beds", 1, 2)):
        here, there = context.Pipe()
        here.send(("nothing of that name", ()))
        here.close()
        with pytest.raises(SystemExit) as end:
            work(there)
        assert end.value.code is None
    assert capfd.readouterr().err == ""


def test_who_waits_for_a_closed_bench_is_told_and_starts_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """One call goes on and two wait when it is closed: all three end at once, and no process is started."""
    bench, pipe, started = Bench(), Slow(), []

    class Context:
        @staticmethod
        def Pipe() -> Any:  # noqa: N802 - as multiprocessing calls it
            started.append("pipe")
            return pipe, Slow()

        @staticmethod
        def Process(**given: Any) -> Killed:  # noqa: N802
            return Killed(pipe)

    monkeypatch.setattr("planner.web.jobs.worker.multiprocessing.get_context", lambda kind: Context)
    told: list[str] = []

    def ask() -> None:
        try:
            bench.call("reckon")
        except RuntimeError as error:
            told.append(str(error))

    asking = [threading.Thread(target=ask) for _ in range(3)]
    for one in asking:
        one.start()
    assert pipe.begun.wait(10.0)
    bench.close()
    for one in asking:
        one.join(10.0)
    assert len(told) == 3
    assert told.count("the page has ended") == 2
    assert started == ["pipe"]
    with pytest.raises(RuntimeError, match="the page has ended"):
        bench.call("look")
