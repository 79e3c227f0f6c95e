"""The warm process ends with the page, whoever still waits for it."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from planner.web.jobs.worker import Bench


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


def test_who_waits_for_a_closed_bench_is_told_and_starts_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """One call goes on and two wait when it is closed: all three end at once, and no process is started."""
    bench, pipe, started = Bench(), Slow(), []

    class Context:
        @staticmethod
        def Pipe() -> Any:  # noqa: N802 - as multiprocessing calls it
            started.append("pipe")
            return pipe, Slow()

        @staticmethod
        def Process(**given: Any) -> threading.Thread:  # noqa: N802
            return threading.Thread(target=lambda: None)

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
