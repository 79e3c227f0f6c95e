"""The private environment that the scripts here run in: made on first use, standard library only."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
HOME = ROOT / ".environment"
LOCKS = ROOT / "scripts" / "locks"  # made by scripts/lock.py
LEAST_PYTHON = (3, 11)
TOOL_S = 300
FALLBACK = "The locked packages cannot be had here; installing what pyproject.toml allows instead."

_IMPORTED = re.compile(r"^from (planner[\w.]*) import (\([^)]*\)|[^\n]*)", re.MULTILINE)


def python() -> Path:
    """The interpreter of the private environment."""
    return HOME / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def prepare(extras: str = "") -> Path:
    """Make the environment and install the project with its extras, unless that was done already.

    Returns its interpreter. Ends the script with a message when that is not possible.
    """
    if sys.version_info < LEAST_PYTHON:
        sys.exit(f"Python {sys.version.split()[0]} is too old: this needs Python 3.11 or newer.")
    stale = kernels_changed(ROOT / "planner", HOME / "compiled-from")
    stamp = HOME / f"ready-{extras or 'plain'}"
    wanted = _wanted(extras)
    if stamp.is_file() and stamp.read_text(encoding="utf-8") == wanted and python().exists():
        if stale:
            _compile()
        return python()
    began = time.monotonic()
    print(f"Making a private environment in {HOME.name} (once; needs the network) ...", flush=True)
    _run(
        [sys.executable, "-m", "venv", str(HOME)],
        "Making the environment failed. On Debian: apt install python3-venv.",
    )
    if not _locked(extras):
        what = f"{ROOT}[{extras}]" if extras else str(ROOT)
        _run(_install("--editable", what), "Installing failed.")
    _compile()
    stamp.write_text(wanted, encoding="utf-8")
    print(f"Environment ready after {time.monotonic() - began:.0f} s.", flush=True)
    return python()


def _wanted(extras: str) -> str:
    """Changes with what is to be installed, and with the interpreter."""
    files = (ROOT / "pyproject.toml", *_locks(extras))
    told = b"".join(path.read_bytes() for path in files if path.is_file())
    return hashlib.sha256(told + sys.version.encode()).hexdigest()


def _locks(extras: str) -> tuple[Path, Path]:
    """What builds the project and its one dependency without a wheel; then everything else."""
    return LOCKS / "build.txt", LOCKS / f"{extras or 'plain'}.txt"


def _locked(extras: str) -> bool:
    """Install the very files that the lock names; whether that went well is all that matters here.

    A mirror that lacks one of them, another Python, another kind of processor: none of it may be in the way.
    """
    build, rest = _locks(extras)
    if not (build.is_file() and rest.is_file()):
        return False
    exact = ("--no-deps", "--require-hashes", "-r")
    steps = (
        _install("--only-binary", ":all:", *exact, str(build)),
        _install("--no-build-isolation", *exact, str(rest)),
        _install("--no-build-isolation", "--no-deps", "--editable", str(ROOT)),
        [str(python()), "-m", "pip", "--disable-pip-version-check", "check"],
    )
    for command in steps:
        done = subprocess.run(
            command, cwd=ROOT, check=False, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        if done.returncode:
            print(f"{done.stdout.strip()[-500:]}\n{FALLBACK}", flush=True)
            return False
    return True


def _install(*words: str) -> list[str]:
    return [str(python()), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *words]


def _compile() -> None:
    """Once, here: programs that start side by side would each compile the same."""
    print("Compiling the number-crunching parts (once) ...", flush=True)
    _run([str(python()), "-m", "planner", "prepare"], "Compiling failed.")


def kernels_changed(package: Path, told: Path) -> bool:
    """Whether any source of compiled code is not what ``told`` says; it says so from now on.

    Compiled code is kept by its content, so that nothing stale is ever run; but programs that start side by
    side would each compile what is new.
    """
    digest = hashlib.sha256()
    for path in sorted(_compiled_from(package)):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    if told.is_file() and told.read_text(encoding="ascii") == digest.hexdigest():
        return False
    told.parent.mkdir(exist_ok=True)
    told.write_text(digest.hexdigest(), encoding="ascii")
    return True


def _compiled_from(package: Path) -> set[Path]:
    """Files that hold compiled functions, and those that they take anything from: it may be compiled, too."""
    own = {
        path: text
        for path in package.rglob("*.py")
        if b"compiled.jit import" in (text := path.read_bytes()) or b"jit_no_refcount import" in text
    }
    found = set(own)
    for text in own.values():
        for module, names in _IMPORTED.findall(text.decode("utf-8")):
            place = package.parent.joinpath(*module.split("."))
            found |= {place.with_suffix(".py"), *(place / f"{name}.py" for name in re.findall(r"\w+", names))}
    return {path for path in found if path.is_file()}


def tool(name: str) -> Path | None:
    """A program of the package of that name, in an environment of its own; nothing where it cannot be had."""
    home = HOME / f"tool-{name}"
    inside = home / ("Scripts" if os.name == "nt" else "bin")
    program = inside / (f"{name}.exe" if os.name == "nt" else name)
    if not program.exists():
        steps = (
            [sys.executable, "-m", "venv", str(home)],
            [str(inside / "python"), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", name],
        )
        for command in steps:
            try:
                done = subprocess.run(
                    command, cwd=ROOT, check=False, stderr=subprocess.DEVNULL, timeout=TOOL_S
                )
            except subprocess.TimeoutExpired:
                return None
            if done.returncode:
                return None
    return program


def _run(command: list[str], complaint: str) -> None:
    done = subprocess.run(command, cwd=ROOT, check=False)
    if done.returncode:
        sys.exit(f"{complaint}\nThe command was: {' '.join(command)}")


def clean_environment() -> dict[str, str]:
    """The surrounding environment without what could pull in another installation."""
    kept = {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "PYTHONHOME")}
    return {**kept, "PYTHONUTF8": "1"}
