"""The error tree keeps its fields, also across processes."""

from __future__ import annotations

import pickle

import pytest

from planner import errors

KINDS = [
    kind for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, errors.PlannerError)
]


@pytest.mark.parametrize("kind", KINDS)
def test_fields_survive_pickling(kind: type[errors.PlannerError]) -> None:
    """A worker process may raise any of them: sentence, place and next step arrive whole."""
    before = kind("it broke.", where="wing.stl", next_step="Mend it.")
    after = pickle.loads(pickle.dumps(before))  # noqa: S301
    assert (type(after), after.what, after.where, after.next_step) == (
        kind,
        "it broke.",
        "wing.stl",
        "Mend it.",
    )
    assert str(after) == "wing.stl: it broke. Mend it."


def test_the_drawn_tree_names_every_error() -> None:
    """The picture in the module's docstring is complete."""
    assert errors.__doc__ is not None
    assert all(kind.__name__ in errors.__doc__ for kind in KINDS)
