"""A process of its own for what takes a while: warm while it is used, gone when it is not."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from planner.errors import InputError, PlannerError
from planner.web.words import say
from planner.web.workspace import FULL

IDLE_S = 240.0
NUDGE_S = 0.1
Report = Callable[[str, int, int], None]


class Bench:
    """Does one piece of work after the other; a second caller waits for the first."""

    def __init__(self, idle_s: float = IDLE_S) -> None:
        self._lock = threading.Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._used = time.monotonic()
        self._idle_s = idle_s
        self._closed = False

    def warm(self) -> None:
        """Start the process before it is needed."""
        threading.Thread(target=self._warm, daemon=True).start()

    def _warm(self) -> None:
        with self._lock, contextlib.suppress(RuntimeError):  # ended before it was warm
            self._ready()
            self._used = time.monotonic()

    def call(self, work: str, *given: Any, report: Report | None = None) -> Any:
        """Do work and give its result.

        Raises
        ------
        PlannerError
            as raised by the work
        RuntimeError
            when the process died or the work failed for no known reason
        """
        with self._lock:
            pipe = self._ready()
            try:
                pipe.send((work, given))
                while True:
                    kind, value = pipe.recv()
                    if kind == "progress":
                        if report is not None:
                            report(*value)
                    elif kind == "done":
                        return value
                    elif isinstance(value, PlannerError):
                        raise value
                    else:
                        raise RuntimeError(value)
            except (EOFError, OSError) as error:
                self._end()
                raise RuntimeError("the process ended before its work was done") from error
            finally:
                self._used = time.monotonic()

    def rest(self) -> None:
        """End the process when nobody has used it for a while."""
        if self._process is None or time.monotonic() - self._used < self._idle_s:
            return
        if self._lock.acquire(blocking=False):
            try:
                self._end()
            finally:
                self._lock.release()

    def close(self) -> None:
        """End the process for good: whoever still waits for it is told so, and starts no other one."""
        self._closed = True
        while not self._lock.acquire(timeout=NUDGE_S):  # who waits at the pipe hears of its end, and lets go
            if (process := self._process) is not None:
                process.kill()
        try:
            self._end()
        finally:
            self._lock.release()

    @property
    def pid(self) -> int | None:
        """Number of the process while there is one."""
        process = self._process
        return None if process is None else process.pid

    def _ready(self) -> Connection:
        if self._closed:
            raise RuntimeError("the page has ended")
        if self._process is None or not self._process.is_alive() or self._pipe is None:
            context = multiprocessing.get_context("spawn")
            here, there = context.Pipe()
            process = context.Process(target=serve, args=(there,), name="planner-bench")
            process.start()
            there.close()
            self._process, self._pipe = process, here
        return self._pipe

    def _end(self) -> None:
        process, pipe = self._process, self._pipe
        self._process = self._pipe = None
        if pipe is not None:
            pipe.close()
        if process is not None:
            process.join(1.0)
            if process.is_alive():
                process.kill()
                process.join(5.0)


def serve(pipe: Connection) -> None:
    """Run in the process: work until the pipe is closed."""
    from planner.web.jobs.worker_tasks import WORK

    alone()
    while True:
        try:
            work, given = pipe.recv()
        except (EOFError, OSError):
            return

        def report(stage: str, done: int, total: int) -> None:
            tell(pipe, ("progress", (stage, done, total)))

        try:
            value = WORK[work](*given, report)
            tell(pipe, ("done", value))
        except PlannerError as error:
            tell(pipe, ("failed", error))
        except Exception as error:  # a bug is told; the process lives on
            full = isinstance(error, OSError) and error.errno in FULL
            told = InputError(say("disk_full")) if full else f"{type(error).__name__}: {error}"
            tell(pipe, ("failed", told))


def tell(pipe: Connection, message: tuple[str, Any]) -> None:
    """Tell the page; where it is gone, or listens no more, this process ends without a word."""
    try:
        pipe.send(message)
    except OSError:
        raise SystemExit from None


def alone() -> None:
    """End this process when the page that started it is gone, whatever it is doing."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the page itself decides
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
