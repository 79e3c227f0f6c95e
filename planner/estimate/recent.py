"""Deposits of a process that estimates the same parts again and again, before those kept elsewhere."""

from __future__ import annotations

from collections import OrderedDict

from planner.estimate.cache import DepositCache
from planner.model.deposit import Deposit


class RecentDeposits:
    """The deposits that were asked for last, by content; what nobody has asked for longest is let go.

    Parameters
    ----------
    most : deposits that are kept in memory
    further : where others are looked for, and all are kept
    """

    def __init__(self, most: int, further: DepositCache | None = None) -> None:
        self._most = most
        self._further = further
        self._kept: OrderedDict[str, Deposit] = OrderedDict()

    def get(self, key: str) -> Deposit | None:
        """The deposit kept under the key."""
        found = self._kept.get(key)
        if found is None and self._further is not None:
            found = self._further.get(key)
        if found is not None:
            self._keep(key, found)
        return found

    def put(self, key: str, deposit: Deposit) -> None:
        """Keep a deposit here and there."""
        self._keep(key, deposit)
        if self._further is not None:
            self._further.put(key, deposit)

    def _keep(self, key: str, deposit: Deposit) -> None:
        self._kept[key] = deposit
        self._kept.move_to_end(key)
        while len(self._kept) > self._most:
            self._kept.popitem(last=False)
