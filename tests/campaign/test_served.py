"""What a log tells, and who runs below a process."""

from __future__ import annotations

import os
import subprocess
import sys

from tests.campaign.served import children_of, traceback_in

NOT_BEGUN = """Traceback (most recent call last):
  File "<string>", line 1, in <module>
  File "/usr/lib/python3.11/multiprocessing/spawn.py", line 122, in spawn_main
    exitcode = _main(fd, parent_sentinel)
               ^^^^^^^^^^^^^^^^^^^^^^^^^^
  File "/usr/lib/python3.11/multiprocessing/spawn.py", line 130, in _main
    preparation_data = reduction.pickle.load(from_parent)
                       ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
EOFError: Ran out of input
"""
OTHER = (
    'Traceback (most recent call last):\n  File "/x/planner/web/app.py", line 3, in y\nEOFError: Ran out\n'
)


def test_a_process_that_a_killed_page_was_starting_is_no_fault() -> None:
    """As often as it was killed; not once more, and nothing else."""
    log = f"The page is at x\n{NOT_BEGUN}The page is at y\n"
    assert traceback_in(log, kills=1) == ""
    assert traceback_in(log).startswith("Traceback")
    assert traceback_in(log + NOT_BEGUN, kills=1).startswith("Traceback")
    assert "web/app.py" in traceback_in(log + OTHER, kills=5)
    assert traceback_in("The page is at x\n", kills=3) == ""


def test_a_process_that_has_ended_has_nobody_below() -> None:
    """Not even while it is being asked; one that runs is found."""
    words = [sys.executable, "-c", "input()"]
    with subprocess.Popen(words, stdin=subprocess.PIPE) as child:
        if sys.platform == "linux":
            assert child.pid in children_of(os.getpid())
    assert children_of(child.pid) == []
