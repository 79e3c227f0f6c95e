"""Start the page: lock the workspace, choose a port, show the address, open the browser."""

from __future__ import annotations

import contextlib
import secrets
import socket
import sys
import threading
import webbrowser
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import InputError, MissingExtra
from planner.web.routes.phone import Way, network_addresses, ways_in, written
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
    phone: bool = False


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
            ways = ways_in(_names(request), port, token) if request.phone else ()
            hosts = allowed_hosts(request, port)
            address = f"http://{shown}:{port}/"
            handed = (
                Handover(root.resolve(), address) if request.open_browser and not request.window else None
            )
            app = application(
                desk,
                token,
                hosts,
                cookie=f"planner-{port}",
                once=handed.take if handed else None,
                ways=ways,
            )
            config = uvicorn.Config(
                app, log_level="warning", access_log=False, server_header=False, timeout_graceful_shutdown=2
            )
            _run(uvicorn.Server(config), listening, f"{address}?token={token}", request, handed, ways)
        finally:
            if handed is not None:
                handed.leave()
            lock.leave()


def shown_name(host: str) -> str:
    """How a browser on this machine names a page that listens at ``host``."""
    return written({"localhost": "127.0.0.1", "0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host))  # noqa: S104


def allowed_hosts(request: PageRequest, port: int) -> list[str]:
    """What a browser may call the page: names of this machine only, with the port."""
    names = {"127.0.0.1", "localhost", "::1"}
    if request.host not in LOOPBACK or request.phone:
        names |= set(_names(request))
    if _everywhere(request):
        names.add(socket.gethostname().lower())
    return sorted(f"{written(name)}:{port}" for name in names)


def _names(request: PageRequest) -> tuple[str, ...]:
    """Under what others on the network reach the page."""
    if not _everywhere(request):
        return (request.host.lower(),)
    four = ":" not in request.host  # listening at every address of the fourth version answers at no other
    return tuple(name for name in network_addresses() if not (four and ":" in name))


def _everywhere(request: PageRequest) -> bool:
    """Whether the page listens at every address of this machine."""
    asked = request.host in ("0.0.0.0", "::")  # noqa: S104 - asked for by the user
    return asked or (request.phone and request.host in LOOPBACK)


def _listening(request: PageRequest) -> socket.socket:
    """A listening socket: at the port that was asked for, else at ours, else at any that is free."""
    family = socket.AF_INET6 if ":" in request.host else socket.AF_INET
    host = "127.0.0.1" if request.host == "localhost" else request.host
    if _everywhere(request):
        host = "::" if family == socket.AF_INET6 else "0.0.0.0"  # noqa: S104 - asked for by the user
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
    server: object,
    listening: socket.socket,
    address: str,
    request: PageRequest,
    handed: Handover | None,
    ways: Sequence[Way],
) -> None:
    import uvicorn

    assert isinstance(server, uvicorn.Server)  # noqa: S101
    if request.host not in LOOPBACK or request.phone:
        print(  # noqa: T201
            "The page can be reached from other machines. Whoever has the address below can use it,"
            " and it is sent without encryption.",
            file=sys.stderr,
        )
    print(f"The page is at {address}", flush=True)  # noqa: T201
    for n, way in enumerate(ways):
        print(f"On a phone: {way.address}", flush=True)  # noqa: T201
        if n == 0:
            print(way.blocks(), flush=True)  # noqa: T201
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
