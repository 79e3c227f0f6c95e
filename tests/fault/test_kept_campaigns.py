"""Cases that campaigns kept: builds, folders, kills and surroundings on which something failed once.

Each is a file in ``cases/campaigns`` that tells what the case is made of, and in ``failed`` the fault that it
had; the campaign makes it again from that, and nothing may be wrong any more.
"""

from __future__ import annotations

import json

import pytest

pytest.importorskip("manifold3d", reason="the kits are made with manifold3d")

from tests.campaign.keep import CAMPAIGNS, CASES
from tests.campaign.kinds import KINDS, again
from tests.campaign.warm import FORKS

KEPT = sorted((CASES / CAMPAIGNS).glob("*.json"))
MOST_BYTES = 8000


@pytest.mark.slow
@pytest.mark.skipif(not FORKS, reason="cases run in processes that are forked")
@pytest.mark.parametrize("name", [path.name for path in KEPT])
def test_what_failed_once_holds(name: str) -> None:
    """The campaign finds nothing wrong with it."""
    assert again(json.loads((CASES / CAMPAIGNS / name).read_text(encoding="utf-8"))) == ""


def test_there_is_one_of_each_kind() -> None:
    """Small, with its fault told, of kinds that can be run again; nothing else lies there."""
    records = [json.loads(path.read_text(encoding="utf-8")) for path in KEPT]
    assert {record["kind"] for record in records} == {kind.name for kind in KINDS.values() if kind.again}
    assert all(record["failed"] for record in records)
    assert max(path.stat().st_size for path in KEPT) < MOST_BYTES
    assert sorted((CASES / CAMPAIGNS).iterdir()) == KEPT
