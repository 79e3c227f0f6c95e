"""The way in for a phone or tablet on the same network: an address, as text and as a code."""

from __future__ import annotations

import contextlib
import io
import ipaddress
import socket
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from planner.errors import InputError, MissingExtra

# Addresses set aside for documentation (RFC 5737, RFC 3849): nothing is sent there, the system only says
# from which of its own addresses it would.
_ELSEWHERE = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))


@dataclass(frozen=True, slots=True)
class Way:
    """One address of this machine on its network, with the secret of the start."""

    address: str

    def drawing(self) -> str:
        """The address as an SVG drawing of a QR code (ISO/IEC 18004), 4 cells of quiet all round."""
        stream = io.BytesIO()
        _code(self.address).save(
            stream, kind="svg", scale=5, border=4, dark="#000", light="#fff", xmldecl=False, svgns=True
        )
        return stream.getvalue().decode("ascii")

    def blocks(self) -> str:
        """The same in characters for a terminal, at most 80 columns wide."""
        stream = io.StringIO()
        _code(self.address).terminal(stream, compact=True, border=2)
        return stream.getvalue()


def ways_in(names: Iterable[str], port: int, token: str) -> tuple[Way, ...]:
    """One way for each name or address under which others reach this machine.

    Raises
    ------
    InputError
        when this machine is on no network
    """
    ways = tuple(Way(f"http://{written(name)}:{port}/?token={token}") for name in names)
    if not ways:
        raise InputError(
            "this machine has no address on a network that a phone could reach.",
            where="--phone",
            next_step="Join the network first, or name the address with --host.",
        )
    return ways


def network_addresses() -> tuple[str, ...]:
    """Addresses of this machine that others on its network reach, the one of its usual way out first."""
    found: list[str] = []
    for family, elsewhere in _ELSEWHERE:
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as asked:
            asked.connect((elsewhere, 9))
            found.append(str(asked.getsockname()[0]))
    with contextlib.suppress(OSError):
        found += [str(row[4][0]) for row in socket.getaddrinfo(socket.gethostname(), None)]
    return reachable(found)


def reachable(addresses: Iterable[str]) -> tuple[str, ...]:
    """Those that another machine can use: no loopback, none that needs the name of a network card."""
    kept: list[str] = []
    for text in addresses:
        try:
            address = ipaddress.ip_address(text.partition("%")[0])
        except ValueError:
            continue
        if not (address.is_loopback or address.is_unspecified or address.is_link_local):
            kept.append(str(address))
    return tuple(dict.fromkeys(kept))


def written(name: str) -> str:
    """A name or address as it stands in the address of a page (RFC 3986, 3.2.2)."""
    return f"[{name}]" if ":" in name else name


def _code(text: str) -> Any:
    try:
        import segno
    except ImportError as error:
        raise MissingExtra(
            "the code for a phone needs the package segno, which is not installed.",
            next_step='Install it with: pip install "airframe-print-planner[page]"; or leave --phone out.',
        ) from error
    return segno.make_qr(text, error="m")
