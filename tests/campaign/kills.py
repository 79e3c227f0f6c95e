"""Commands that are killed at every step of their writing; then they are typed again.

Oracles outside the planner: results are to the byte those of before or those of a run that nobody killed;
facts are all or none of a command's, and all once it said so; typed again, the command ends as if nothing
had been, and nothing lies beside. The steps are counted in a run that goes through.
"""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tests.campaign.case import Case
from tests.campaign.deaths import STEPS, Death, counted
from tests.campaign.keep import keeps, kept_case
from tests.campaign.reduce import alike
from tests.campaign.scenes import SCENES, Place, Scene, random_job
from tests.campaign.standing import LEDGER, Standing, standing
from tests.campaign.warm import EVERY_FRESH, Done, command

BLOCK = 25
CONFIRMED = "ledger: "  # a command that wrote facts ends so
BACK = "brought back"
_RANDOM = re.compile(r"-[a-z0-9_]{8}(?=[./]|$)|[0-9a-f]{40}")  # of temporary names, and digests in names


@dataclass(frozen=True, slots=True)
class Kill:
    """How a command is ended: by a death that waits in it, or from outside ``after`` so many seconds."""

    death: Death
    after: float | None = None
    fresh: bool = False


@dataclass(frozen=True, slots=True)
class Whole:
    """A scene that was played through: what lay there before and after, the steps of it, how it ended."""

    scene: Scene
    place: Place
    kept: Path
    before: Standing
    after: Standing
    steps: tuple[str, ...]
    largest: int
    done: Done
    job: tuple[int, ...] = ()  # seed of the sizes of its airframe

    def begin(self) -> None:
        """All as it was before."""
        shutil.rmtree(self.place.root)
        shutil.copytree(self.kept, self.place.root)


def alone() -> None:
    """In a process: names of two folders cannot be exchanged, as on some disks."""
    from planner.io.results import output

    output.exchanged = lambda one, other: False


def _first(scene: Scene, place: Place, death: Death | None) -> None:
    if scene.alone:
        alone()
    if death is None:
        counted(place.root, place.home)
    else:
        death.meets(place.root)


def played(scene: Scene, folder: Path, job: Sequence[int]) -> Whole:
    """Prepare a scene with an airframe by a seed, and play it once to its end."""
    place, kept = random_job(folder / "now", np.random.default_rng([*job])), folder / "before"
    scene.before(place)
    shutil.copytree(place.root, kept)
    before = standing(place.root)
    words = scene.words(place)
    done = command(words, place.home, first=lambda: _first(scene, place, None))
    if done.code not in (0, 1) or done.fault:
        raise AssertionError(f"{scene.name} does not end: {done.code}, {done.err[-300:]}")
    steps = tuple((place.home / STEPS).read_text(encoding="utf-8").splitlines())
    if CONFIRMED in done.out and standing(place.root).facts in (None, before.facts):
        raise AssertionError(f"{scene.name}: facts are confirmed and not there")
    largest = max(path.stat().st_size for path in place.root.rglob("*") if path.is_file())
    return Whole(scene, place, kept, before, standing(place.root), steps, largest, done, tuple(job))


def cases(numbers: range, seed: int, scenes: tuple[Scene, ...] = SCENES) -> Iterator[Case]:
    """A block: one scene, killed at the next of its steps in a drawn order."""
    turn, at = divmod(numbers.start // BLOCK, len(scenes))
    job = (seed, numbers.start, 2)
    rng = np.random.default_rng([*job, 1])
    with tempfile.TemporaryDirectory() as name:
        whole = played(scenes[at], Path(name).resolve(), job)
        order = np.random.default_rng([seed, at]).permutation(len(whole.steps)) + 1
        for n, number in enumerate(numbers):
            next_step = int(order[(turn * BLOCK + n) % len(order)])
            yield killed(whole, number, next_step, rng)


def killed(whole: Whole, number: int, step: int, rng: np.random.Generator) -> Case:
    """Kill once, look, type it again, look again; what fails is kept as the one step at which it does."""
    death = Death("step", step)
    way = number % 8
    if way >= 6:
        death = Death("byte" if way == 6 else "full", int(np.exp(rng.uniform(3.0, np.log(whole.largest)))))
    fresh, after = number % EVERY_FRESH == EVERY_FRESH - 1, None
    if fresh or way == 5:
        after = float(rng.uniform(0.0, 1.1)) * (3.0 * fresh + whole.done.seconds)
    kill = Kill(death, after, fresh)
    done, fault = fault_of(whole, kill)
    if fault and keeps():
        kept_case("kills", least(whole, kill, fault), fault)
    reached = "killed" if done.code < 0 else "refused" if done.code == 2 else "ended"
    return Case("kills", number, f"{whole.scene.name}, {_told(whole, kill)}", reached, fault, done.seconds)


def _told(whole: Whole, kill: Kill) -> str:
    if kill.after is not None:
        return f"after {kill.after:.2f} s"
    if kill.death.way == "step":
        at = kill.death.at
        return f"before step {at} of {len(whole.steps)}: {whole.steps[at - 1]}"
    return f"{kill.death.way} at {kill.death.at} bytes"


def fault_of(whole: Whole, kill: Kill) -> tuple[Done, str]:
    """How the command ended that was killed, and what is wrong then or once it is typed again."""
    whole.begin()
    words = whole.scene.words(whole.place)
    death = Death("step", 0) if kill.after is not None else kill.death
    done = command(
        words, whole.place.home, fresh=kill.fresh, kill_after=kill.after,
        first=None if kill.fresh else lambda: _first(whole.scene, whole.place, death),
    )  # fmt: skip
    return done, seen(whole, done, kill.death.way) or _again(whole, words)


def least(whole: Whole, kill: Kill, fault: str) -> dict[str, Any]:
    """The scene and one step at which it fails in the same way; the kill as it is where no step does."""
    steps = range(1, len(whole.steps) + 1)
    own = kill.death.at if kill.death.way == "step" and kill.after is None and not kill.fresh else None
    for at in [own] if own is not None else steps:
        one = Kill(Death("step", at))
        if alike(fault, fault_of(whole, one)[1]):
            kill = one
            break
    record = {"scene": whole.scene.name, "job": [*whole.job], "way": kill.death.way, "at": kill.death.at}
    if kill.death.way == "step" and kill.after is None:
        record["operation"] = whole.steps[kill.death.at - 1]
    return record | {"after": kill.after, "fresh": kill.fresh}


def again(record: Mapping[str, Any]) -> str:
    """A kept kill, done again: what is wrong, or nothing. Its step is found by the name of its operation."""
    scene = next(one for one in SCENES if one.name == record["scene"])
    with tempfile.TemporaryDirectory() as name:
        whole = played(scene, Path(name).resolve(), record["job"])
        at = record["at"]
        if operation := record.get("operation"):
            at = nearest(whole.steps, operation, at)
        kill = Kill(Death(record["way"], at), record["after"], record["fresh"])
        return fault_of(whole, kill)[1]


def nearest(steps: Sequence[str], operation: str, at: int) -> int:
    """The number of the step that is this operation, the nearest to a number; random names are one."""
    same = [n for n, step in enumerate(steps, start=1) if _plain(step) == _plain(operation)]
    return min(same or [min(at, len(steps))], key=lambda n: abs(n - at))


def _plain(step: str) -> str:
    """Without what differs each time."""
    return _RANDOM.sub("*", step)


def seen(whole: Whole, done: Done, way: str = "step") -> str:
    """What is wrong with what lies there after a kill."""
    now, before, after = standing(whole.place.root), whole.before, whole.after
    if done.code >= 0 and (said := done.fault):
        return said
    if now.store:
        return f"the ledger is damaged: {now.store}"
    if now.facts not in (before.facts, after.facts) and not (now.facts == () and before.facts is None):
        return f"{len(now.facts or ())} facts, which are neither those before nor those after"
    if CONFIRMED in done.out and len(now.facts or ()) != len(after.facts or ()):
        return "the facts were confirmed and are not there"
    for out in whole.scene.outs:
        own = now.results(out)
        gap = whole.scene.alone and not own and bool(_beside(now))
        if own not in (before.results(out), after.results(out)) and not gap:
            return f"{out} is neither the old nor the new one: {_differs(own, after.results(out))}"
    if way == "full" and done.code == 2 and now.names - before.names - {f"kit/{LEDGER}"} - _kept(now):
        return f"refused, and left beside: {sorted(now.names - before.names - _kept(now))[:3]}"
    for name, digest in now.rest(whole.scene.outs).items():
        ours = "/." in f"/{name}" or name.endswith(".part")
        if digest not in (before.files.get(name), after.files.get(name)) and not ours:
            return f"{name} is neither as before nor as after"
    missing = [n for n in before.rest(whole.scene.outs) if n not in now.files and n in after.files]
    return f"{missing[0]} is gone" if missing else ""


def _kept(now: Standing) -> set[str]:
    """Estimates, which may be kept whatever comes of the plan."""
    return {name for name in now.names if name.startswith("home/cache")}


def _beside(now: Standing) -> list[str]:
    return [name for name in now.files if name.startswith("home/.") and "/was/" in name]


def _again(whole: Whole, words: list[str]) -> str:
    """The same command once more: it ends as it did, tidies up, and comes to the same."""
    gone = [out for out in whole.scene.outs if (was := whole.before.results(out)) and not
            standing(whole.place.root).results(out) and was]  # fmt: skip
    done = command(words, whole.place.home, first=alone if whole.scene.alone else None)
    now, after = standing(whole.place.root), whole.after
    if not whole.scene.same and done.code == 2 and now.facts == after.facts and not done.fault:
        return ""  # it counted the first time, and cannot be done twice
    if done.fault or done.code != whole.done.code:
        return f"typed again: {done.fault or f'code {done.code}, {done.err[-200:]}'}"
    if gone and BACK not in " ".join(done.err.split()):
        return "typed again: an earlier plan came back, and nobody is told"
    if now.store:
        return f"typed again, the ledger is damaged: {now.store}"
    if left := sorted(now.names - after.names):
        return f"typed again, and left beside: {left[:3]}"
    if lost := sorted(after.names - now.names):
        return f"typed again, and not there: {lost[:3]}"
    if whole.scene.same:
        if now.facts != after.facts:
            return f"typed again: {len(now.facts or ())} facts, not {len(after.facts or ())}"
        for out in whole.scene.outs:
            if now.results(out) != after.results(out):
                return f"typed again, {out} differs: {_differs(now.results(out), after.results(out))}"
    return ""


def _differs(one: dict[str, str], other: dict[str, str]) -> str:
    names = sorted(name for name in one.keys() | other.keys() if one.get(name) != other.get(name))
    return f"{len(names)} files, as {names[:3]}"
