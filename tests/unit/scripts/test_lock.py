"""What the scripts install is pinned by hash, and fits what the project asks for."""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "scripts"))
import lock  # noqa: E402

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
ASKED = {
    "build": [*PROJECT["build-system"]["requires"], *lock.BUILT_WITH],
    "plain": PROJECT["project"]["dependencies"],
    "test": PROJECT["project"]["dependencies"] + PROJECT["project"]["optional-dependencies"]["test"],
}


@pytest.mark.parametrize("name", ASKED)
def test_every_dependency_is_pinned_within_its_bounds(name: str) -> None:
    """A dependency that is new, or asks for more, needs ``python3 scripts/lock.py``."""
    pins = lock.pins(lock.LOCKS / f"{name}.txt")
    for asked in map(Requirement, ASKED[name]):
        versions = pins.get(canonicalize_name(asked.name), set())
        assert versions, f"{asked.name} is not in {name}.txt: run python3 scripts/lock.py"
        assert all(version in asked.specifier for version in versions), (
            f"{asked}: run python3 scripts/lock.py"
        )


def test_one_environment_can_hold_them_all() -> None:
    """First the demo, then the tests: nothing is exchanged for another version."""
    build, plain, test = (lock.pins(lock.LOCKS / f"{name}.txt") for name in ("build", "plain", "test"))
    assert {name: test.get(name) for name in plain} == plain
    assert {name: test[name] for name in build if name in test} == {
        name: versions for name, versions in build.items() if name in test
    }


@pytest.mark.parametrize("name", ASKED)
def test_every_pin_has_hashes_and_no_place_is_named(name: str) -> None:
    """Whatever registry or mirror is set up serves the same bytes, or none."""
    text = (lock.LOCKS / f"{name}.txt").read_text(encoding="utf-8")
    assert "://" not in text
    assert "index" not in text.replace("importlib", "")
    pinned = re.split(r"^(?=[A-Za-z0-9])", text, flags=re.MULTILINE)[1:]
    assert len(pinned) > 5
    assert all(re.search(r"--hash=sha256:[0-9a-f]{64}", one) for one in pinned)


def test_compiled_packages_are_pinned_for_every_system() -> None:
    """More than one file each: wheels for several systems and versions of Python."""
    text = (lock.LOCKS / "plain.txt").read_text(encoding="utf-8")
    for name in ("numpy", "numba", "shapely", "ortools"):
        one = re.search(rf"^{name}==.*?(?=^\S)", text, re.MULTILINE | re.DOTALL)
        assert one is not None
        assert one.group(0).count("--hash") > 10


def test_each_lock_keeps_to_those_before_it(tmp_path: Path) -> None:
    """Build, tests, the rest: the later ones are constrained, the head stands once, nothing is left over."""
    ran: list[list[str]] = []

    def run(words: Sequence[str]) -> None:
        ran.append(list(words))
        file = Path(words[-1])
        before = file.read_text(encoding="utf-8") if file.is_file() else ""
        file.write_text(before + "x==1 \\\n    --hash=sha256:0\n", encoding="utf-8")

    lock.lock(run, tmp_path)
    lock.lock(run, tmp_path, upgrade=True)
    assert [words.count("--constraints") for words in ran] == [0, 1, 2] * 2
    assert ["--upgrade" in words for words in ran] == [False] * 3 + [True] * 3
    assert all("--universal" in words and "--generate-hashes" in words for words in ran)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["build.txt", "plain.txt", "test.txt"]
    assert (tmp_path / "plain.txt").read_text(encoding="utf-8").count(lock.HEAD) == 1
    assert lock.pins(tmp_path / "plain.txt") == {"x": {"1"}}
