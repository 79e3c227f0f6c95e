"""The command ``planner page``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.exits import told
from planner.cli.numbers import whole
from planner.cli.options import CacheFolder


def page(
    workspace: Annotated[
        Path | None, typer.Option("--workspace", metavar="DIR", help="Where airframe folders are kept.")
    ] = None,
    host: Annotated[
        str,
        typer.Option("--host", metavar="NAME", help="Address to listen at; this computer only by default."),
    ] = "127.0.0.1",
    port: Annotated[
        int | None,
        typer.Option("--port", parser=whole(0, 65535), metavar="N", help="Port; 0 takes any free one."),
    ] = None,
    window: Annotated[
        bool, typer.Option("--window", help="Open in a window of its own (needs pywebview).")
    ] = False,
    no_open: Annotated[bool, typer.Option("--no-open", help="Only print the address.")] = False,
    phone: Annotated[
        bool,
        typer.Option("--phone", help="Let a phone on the same network in; shows the address and a QR code."),
    ] = False,
    cache: CacheFolder = None,
) -> None:
    """Open the local web page on which the whole job can be done."""
    from planner.api import default_cache
    from planner.web.server import PageRequest, serve

    with told():
        serve(
            PageRequest(
                workspace=workspace,
                host=host,
                port=port,
                window=window,
                open_browser=not no_open,
                phone=phone,
                cache=str(cache or default_cache()),
            )
        )
