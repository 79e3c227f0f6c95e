"""Readers run close by: what hangs there alone is no fault, what hangs as it is is one."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.errors import MeshError
from tests.campaign.near import near
from tests.campaign.warm import FORKS

pytestmark = pytest.mark.skipif(not FORKS, reason="readers run in processes that are forked")

HERE_ALONE = "import sys, time\nif 'tests.campaign.near' in sys.modules:\n    time.sleep(60)\n"


def read(script: str, folder: Path, seconds: float) -> None:
    from planner.io.meshes import step

    with near():
        step.run(script, [], folder, name="STEP", wrong="nothing comes of it.", seconds=seconds)


@pytest.mark.slow
def test_what_hangs_in_a_forked_process_alone_is_read_as_it_is(tmp_path: Path) -> None:
    """The interpreter that is started anew has not loaded this package."""
    read(f"{HERE_ALONE}open('made', 'w').close()", tmp_path, 1.0)
    assert (tmp_path / "made").exists()
    with pytest.raises(MeshError, match=r"nothing comes of it\."):
        read(f"{HERE_ALONE}sys.exit(1)", tmp_path, 1.0)


def test_what_hangs_as_it_is_is_told(tmp_path: Path) -> None:
    """After as many seconds once more."""
    with pytest.raises(TimeoutError, match=r"a STEP file took more than 0\.3 s"):
        read("import time\ntime.sleep(60)\n", tmp_path, 0.3)
