"""The page in a process of its own, asked over http: started, killed, started again, and measured."""

from __future__ import annotations

import contextlib
import http.client
import re
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from planner.web.guard import cookie_value

ANSWER_S = 120.0
END_S = 30.0


_NOT_BEGUN = re.compile(
    r"Traceback \(most recent call last\):\n  File \"<string>\", line 1, in <module>\n"
    r"(?:  .*\bspawn\.py\", line \d+, in (?:spawn_main|_main)\n(?:    .*\n)+)+"
    r"EOFError: Ran out of input\n"
)


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back: no status where the other end went away."""

    status: int
    body: bytes = b""


@dataclass
class Served:
    """One workspace and whichever page serves it at the moment."""

    workspace: Path
    log: Path
    port: int = 0
    cookie: str = ""
    process: subprocess.Popen[bytes] | None = None
    held_open: list[socket.socket] = field(default_factory=list)
    most_mb: float = 0.0
    kills: int = 0  # how often a page was ended without being asked
    env: dict[str, str] | None = None  # none: that of this process

    def start(self) -> None:
        """Start a page and sign in."""
        words = [sys.executable, "-m", "planner", "page", "--workspace", str(self.workspace), "--no-open"]
        with self.log.open("ab") as log:
            self.process = subprocess.Popen([*words, "--port", "0"], stdout=log, stderr=log, env=self.env)
        before = time.monotonic()
        while not (told := re.findall(rb"http://127\.0\.0\.1:(\d+)/\?token=(\S+)", self._since())):
            if self.process.poll() is not None or time.monotonic() - before > ANSWER_S:
                raise AssertionError(f"the page did not start: {self.log.read_text('utf-8')[-300:]}")
            time.sleep(0.02)
        self.port = int(told[-1][0])
        name = f"planner-{self.port}"
        self.cookie = f"{name}={cookie_value(told[-1][1].decode(), name)}"

    def _since(self) -> bytes:
        """The log of the page that was started last."""
        return self.log.read_bytes()[self._begins :]

    _begins: int = 0

    def end(self, how: signal.Signals = signal.SIGTERM) -> str:
        """End the page; what is wrong with how it ended."""
        process, self.process = self.process, None
        assert process is not None
        children = children_of(process.pid)
        self.kills += how == signal.SIGKILL
        process.send_signal(how)
        try:
            process.wait(END_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
            return f"the page did not end by {how.name}"
        finally:
            for one in self.held_open:
                one.close()
            self.held_open.clear()
            self._begins = self.log.stat().st_size
        until = time.monotonic() + END_S
        while left := [child for child in children if Path(f"/proc/{child}").is_dir() and not _over(child)]:
            if time.monotonic() > until:
                return f"{len(left)} processes are left"
            time.sleep(0.05)
        return ""

    def look(self) -> None:
        """Remember the most memory that the server itself has held."""
        if self.process is not None:
            self.most_mb = max(self.most_mb, resident_mb(self.process.pid))

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> Answer:
        """One request with what a browser sends, unless told otherwise."""
        sent = {"Host": f"127.0.0.1:{self.port}", "Origin": f"http://127.0.0.1:{self.port}"}
        sent |= {"Cookie": self.cookie, "Content-Type": "application/json"}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=ANSWER_S)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in sent.items():
                connection.putheader(name, value)
            if body is not None:
                connection.putheader("Content-Length", str(len(body)))
            connection.endheaders(body)
            answer = connection.getresponse()
            return Answer(answer.status, answer.read())
        except (OSError, http.client.HTTPException):
            return Answer(0)
        finally:
            connection.close()

    def cut_off(self, path: str, head: str, sent: bytes) -> None:
        """Begin to send, and go away."""
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 5.0) as one:
            one.sendall(self.raw(path, head) + sent)
            time.sleep(0.02)

    def pour(self, path: str, megabytes: int) -> int:
        """Send a file of noughts of that size, as far as it is taken; the status of the answer."""
        piece = bytes(1 << 20)
        head = f"Content-Length: {megabytes << 20}"
        with socket.create_connection(("127.0.0.1", self.port), ANSWER_S) as one:
            with contextlib.suppress(OSError):  # refused before its end
                one.sendall(self.raw(f"PUT {path}", head))
                for at in range(megabytes):
                    one.sendall(piece)
                    if at % 16 == 0:
                        self.look()
            with contextlib.suppress(OSError):
                told = one.recv(4096)
                return int(told.split(b" ")[1]) if told else 0
        return 0

    def dawdle(self, path: str, head: str) -> None:
        """Begin to send, and stay without a word."""
        one = socket.create_connection(("127.0.0.1", self.port), 5.0)
        one.sendall(self.raw(path, head)[:-2])
        self.held_open.append(one)

    def raw(self, path: str, head: str) -> bytes:
        """The head of a request."""
        own = f"127.0.0.1:{self.port}"
        lines = (f"{path} HTTP/1.1", f"Host: {own}", f"Origin: http://{own}", f"Cookie: {self.cookie}", head)
        return ("\r\n".join(lines) + "\r\n\r\n").encode()


def traceback_in(text: str, kills: int = 0) -> str:
    """The last traceback in a log, cut; empty where there is none.

    A page that is killed while it starts a process leaves that one without what it was to do, which Python
    says in a traceback of its own: no more of these than there were kills are no fault.
    """
    text = _NOT_BEGUN.sub("", text, count=kills) if kills else text
    return text[text.rindex("Traceback") :][:1500] if "Traceback" in text else ""


def resident_mb(pid: int) -> float:
    """Memory that a process holds; nothing where the system does not tell."""
    try:
        told = Path(f"/proc/{pid}/status").read_text("utf-8")
    except OSError:
        return 0.0
    found = re.search(r"VmRSS:\s+(\d+) kB", told)
    return int(found.group(1)) / 1000.0 if found else 0.0


def children_of(pid: int) -> list[int]:
    """Processes that a process started, and those that they did; none of one that has just ended."""
    found: list[int] = []
    with contextlib.suppress(OSError):
        for task in Path(f"/proc/{pid}/task").glob("*/children"):
            with contextlib.suppress(OSError):
                found += [int(child) for child in task.read_text("utf-8").split()]
    return found + [below for child in found for below in children_of(child)]


def _over(pid: int) -> bool:
    """Whether a process has ended and only its number is left."""
    try:
        return ") Z" in Path(f"/proc/{pid}/stat").read_text("utf-8")
    except OSError:
        return True


def sent(value: Any) -> bytes:
    """A JSON body."""
    import json

    return json.dumps(value).encode()
