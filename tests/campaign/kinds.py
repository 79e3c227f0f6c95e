"""Every kind of campaign by its name: what it does, where its cases are, how many belong together."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from tests.campaign.case import Case


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of trials.

    Parameters
    ----------
    name : on the command line
    words : what it does, for whoever asks the command for help
    place : ``module:function``; the function takes the number of a case and the seed and gives a `Case`
    block : cases that run one after the other in one process, which the runner starts for them
    together : the function takes the numbers of a whole block, and gives as many cases
    warm : ``module:function`` that is called once before the processes are forked, or nothing
    keeps : what fails is made small and kept where that is asked for
    again : ``module:function`` that takes what was kept and tells what is wrong; nothing where that is a file
    """

    name: str
    words: str
    place: str
    block: int = 1
    together: bool = False
    warm: str = ""
    keeps: bool = True
    again: str = ""

    def ready(self) -> None:
        """Load what every process would load for itself otherwise."""
        located(self.place)
        if self.warm:
            located(self.warm)()

    def cases(self, numbers: range, seed: int) -> Iterator[Case]:
        """The cases of a block, one after the other."""
        function: Callable[..., Any] = located(self.place)
        if self.together:
            made: Iterable[Case] = function(numbers, seed)
            yield from made
        else:
            for number in numbers:
                yield function(number, seed)


def again(record: Mapping[str, Any]) -> str:
    """A kept case, tried again by its kind: what is wrong with it, or nothing."""
    kind = KINDS[record["kind"]]
    if kind.warm:
        located(kind.warm)()
    told: str = located(kind.again)(record)
    return told


def located(place: str) -> Callable[..., Any]:
    """The function at ``module:function``."""
    module, _, name = place.partition(":")
    found: Callable[..., Any] = getattr(import_module(module), name)
    return found


WARM = "tests.campaign.warm:warm"

KINDS = {
    kind.name: kind
    for kind in (
        Kind(
            "mutate",
            "changes files of every kind that is read",
            "tests.campaign.mutate:cases",
            block=200,
            together=True,
            warm="tests.campaign.mutate:ready",
        ),
        Kind(
            "folders",
            "plans odd folders",
            "tests.campaign.folders:case",
            block=20,
            warm=WARM,
            again="tests.campaign.folders:again",
        ),
        Kind(
            "kills",
            "ends commands at every step of their writing",
            "tests.campaign.kills:cases",
            block=25,
            together=True,
            warm=WARM,
            again="tests.campaign.kills:again",
        ),
        Kind(
            "builds",
            "lives builds through to the last bed",
            "tests.campaign.builds:case",
            warm=WARM,
            again="tests.campaign.builds:again",
        ),
        Kind(
            "environments",
            "runs the command in odd surroundings",
            "tests.campaign.environments:case",
            block=20,
            warm="tests.campaign.environments:known",
            again="tests.campaign.environments:again",
        ),
        Kind(
            "page",
            "lives sessions of the page, killed and started again",
            "tests.campaign.page:case",
            warm="tests.campaign.page:template",
            again="tests.campaign.page:again",
        ),
        Kind(
            "day",
            "lives days of use of the page, ten thousand requests each",
            "tests.campaign.day:case",
            warm="tests.campaign.page:template",
            keeps=False,
        ),
        Kind(
            "full",
            "fills the disk while the page plans",
            "tests.campaign.full:case",
            warm="tests.campaign.page:template",
            keeps=False,
        ),
        Kind(
            "clock",
            "sets the clock back in mid-session and between commands",
            "tests.campaign.clock:case",
            warm="tests.campaign.page:template",
            keeps=False,
        ),
    )
}
