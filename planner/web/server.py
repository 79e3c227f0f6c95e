"""Start the page: lock the workspace, choose a port, show the address, open the browser."""

from __future__ import annotations

import contextlib
import secrets
import socket
import sys
import threading
import webbrowser
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import InputError, MissingExtra
from planner.web.workspace import default_workspace

if TYPE_CHECKING:
    from planner.web.handover import Handover

LOOPBACK = ("127.0.0.1", "localhost", "::1")
PORT = 8317


@dataclass(frozen=True, slots=True)
class PageRequest:
    """How the page is asked for."""

    workspace: Path | None = None
    host: str = "127.0.0.1"
    port: int | None = None
    open_browser: bool = True
    window: bool = False
    cache: str | None = None


def serve(request: PageRequest) -> None:
    """Serve until it is stopped.

    Raises
    ------
    MissingExtra
        when the packages of the page are not installed
    InputError
        when workspace or port cannot be had
    """
    try:
        import starlette
        import uvicorn
    except ImportError as error:
        raise MissingExtra(
            "the page needs packages that are not installed.",
            next_step='Install them with: pip install "airframe-print-planner[page]"',
        ) from error
    del starlette
    if request.window:
        _webview()  # told before anything is opened
    from planner.web.app import application
    from planner.web.desk import desk_for
    from planner.web.handover import Handover
    from planner.web.lock import WorkspaceLock

    root = (request.workspace or default_workspace()).expanduser()
    try:
        root.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise InputError(
            f"the workspace cannot be made ({error.strerror or error}).",
            where=str(root),
            next_step="Choose another --workspace.",
        ) from error
    listening = _listening(request)
    port = listening.getsockname()[1]
    lock = WorkspaceLock(root)
    shown = shown_name(request.host)
    with contextlib.closing(listening):
        lock.take(f"http://{shown}:{port}/")
        try:
            handed = None
            token = secrets.token_urlsafe(24)
            desk = desk_for(root.resolve(), request.cache)
            hosts = _hosts(request.host, port)
            address = f"http://{shown}:{port}/"
            handed = (
                Handover(root.resolve(), address) if request.open_browser and not request.window else None
            )
            app = application(
                desk, token, hosts, cookie=f"planner-{port}", once=handed.take if handed else None
            )
            config = uvicorn.Config(
                app, log_level="warning", access_log=False, server_header=False, timeout_graceful_shutdown=2
            )
            _run(uvicorn.Server(config), listening, f"{address}?token={token}", request, handed)
        finally:
            if handed is not None:
                handed.leave()
            lock.leave()


def shown_name(host: str) -> str:
    """How a browser on this machine names a page that listens at ``host``."""
    name = {"localhost": "127.0.0.1", "0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104
    return f"[{name}]" if ":" in name else name


def _hosts(host: str, port: int) -> list[str]:
    if host in LOOPBACK:
        return [f"127.0.0.1:{port}", f"localhost:{port}", f"[::1]:{port}"]
    if host in ("0.0.0.0", "::"):  # noqa: S104 - asked for by the user; names of this machine
        names = {socket.gethostname().lower(), *_addresses()}
        return [f"{n}:{port}" for n in names] + _hosts("127.0.0.1", port)
    return [f"{host.lower()}:{port}", f"[{host.lower()}]:{port}"]


def _addresses() -> set[str]:
    try:
        return {str(row[4][0]) for row in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    except OSError:
        return set()


def _listening(request: PageRequest) -> socket.socket:
    """A listening socket: at the port that was asked for, else at ours, else at any that is free."""
    family = socket.AF_INET6 if ":" in request.host else socket.AF_INET
    host = "127.0.0.1" if request.host == "localhost" else request.host
    for port in (request.port,) if request.port is not None else (PORT, 0):
        opened = socket.socket(family, socket.SOCK_STREAM)
        if sys.platform != "win32":
            opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            opened.bind((host, port))
            opened.listen(128)
            return opened
        except OSError as error:
            opened.close()
            reason = error.strerror or str(error)
    wanted = PORT if request.port is None else request.port
    raise InputError(
        f"port {wanted} of {request.host} cannot be had ({reason}).",
        next_step="Choose another --port.",
    )


def _run(
    server: object, listening: socket.socket, address: str, request: PageRequest, handed: Handover | None
) -> None:
    import uvicorn

    assert isinstance(server, uvicorn.Server)  # noqa: S101
    if request.host not in LOOPBACK:
        print(  # noqa: T201
            "The page can be reached from other machines. Whoever has the address below can use it,"
            " and it is sent without encryption.",
            file=sys.stderr,
        )
    print(f"The page is at {address}", flush=True)  # noqa: T201
    print("Press Ctrl-C to end it. Everything is saved.", flush=True)  # noqa: T201
    if request.window:
        _window(server, listening, address)
        return
    if handed is not None:
        threading.Timer(0.3, webbrowser.open, [handed.file.as_uri()]).start()
    with contextlib.suppress(KeyboardInterrupt):  # raised again after an orderly end
        server.run(sockets=[listening])


def _webview() -> Any:
    """The package that opens windows."""
    try:
        import webview
    except ImportError as error:
        raise MissingExtra(
            "a window of its own needs the package pywebview, which is not installed.",
            next_step="Install it with: pip install pywebview; or leave --window out.",
        ) from error
    return webview


def _window(server: object, listening: socket.socket, address: str) -> None:
    """Show the page in a window of its own; the page ends with the window."""
    import uvicorn

    assert isinstance(server, uvicorn.Server)  # noqa: S101
    webview = _webview()
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    webview.create_window("planner", address, width=1280, height=860)
    webview.start()
    server.should_exit = True
    thread.join(5.0)
