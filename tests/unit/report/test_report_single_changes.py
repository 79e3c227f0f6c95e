"""The best single changes on paper: no table is printed twice."""

from planner.report.text.tradeoff_text import single_tables
from planner.tradeoffs.single_changes import SingleChange


def test_equal_tables_are_one() -> None:
    """The same changes in the same order are told once, under one head; others in two tables."""
    one, other = (object.__new__(SingleChange) for _ in range(2))
    for change, part in ((one, "rib"), (other, "skin")):
        for name in SingleChange.__dataclass_fields__:
            object.__setattr__(change, name, part)
    assert [len(found) for _, found in single_tables((one, other), (one, other))] == [2]
    (head, _), (second, _) = single_tables((one, other), (other, one))
    assert head == "Most grams for an hour more"
    assert second == "Most grams for money"
