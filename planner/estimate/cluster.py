"""The door to a cluster: a client of the Dask scheduler that the user names."""

from __future__ import annotations

from typing import Any

from planner.errors import InputError, MissingExtra


def client_of(address: str) -> Any:
    """A client of the scheduler at that address; who asks for it closes it.

    Raises
    ------
    MissingExtra
        when the package for it is not installed
    InputError
        when the scheduler does not answer
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise MissingExtra(
            "a cluster needs the package `distributed`, which is not installed.",
            where=address,
            next_step='Install it with: pip install "airframe-print-planner[cluster]"',
        ) from error
    try:
        return Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(
            f"the cluster at {address!r} does not answer within 10 s ({type(error).__name__}).",
            where="--cluster",
            next_step="Start the scheduler, or leave --cluster out to work on this machine.",
        ) from error
