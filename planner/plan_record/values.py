"""Single values of ``plan.json``: their types, their limits, and how one that breaks them is refused.

Every field of a record is one of four kinds:

- ``T``: told, and needed by a plan that goes on from this one;
- ``Later[T] = UNSET``: told, and read where it is there and not null: plans of old do not tell it;
- ``Told[T] = UNSET``: told to the reader of the file, and never read back;
- ``Seldom[T] = UNSET``: as ``Told``, and not even told where there is nothing to tell.
- ``SeldomLater[T] = UNSET``: as ``Later``, and not even told where there is nothing to tell.

All but the last are required by the published schema.
"""

from __future__ import annotations

from datetime import datetime
from functools import cache
from typing import Annotated, Any, TypeAlias, TypeVar, get_args, get_origin

from msgspec import Meta, Struct, UnsetType
from msgspec.structs import FieldInfo, fields

LONGEST_TEXT = 1000  # characters of a name that is read back
LARGEST = 10**15  # of what is counted
LONGEST_MINUTES = 1_000_000  # of a visit: two years
DIGEST = "^[0-9a-f]{64}$"
MONEY = r"^-?\d+(\.\d+)?$"
MOMENT = r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(Z|[+-]\d{2}:\d{2})$"
NUMBERS_OF_A_POSE = 9

T = TypeVar("T")
Later: TypeAlias = T | UnsetType
Told: TypeAlias = Annotated[T | UnsetType, Meta(extra={"told": True})]
Seldom: TypeAlias = Annotated[T | UnsetType, Meta(extra={"told": True, "seldom": True})]
SeldomLater: TypeAlias = Annotated[T | UnsetType, Meta(extra={"seldom": True})]


class Record(Struct, frozen=True):
    """A JSON object of ``plan.json``; its fields are written in the order in which they stand here."""


class Moment:
    """A point in time, in the wall time of the workshop; told to the second with its offset."""

    __slots__ = ("_at",)

    def __init__(self, at: datetime) -> None:
        self._at = at

    @property
    def at(self) -> datetime:
        """The point in time itself."""
        return self._at

    @classmethod
    def read(cls, text: object) -> Moment:
        """A moment as it is told.

        Raises
        ------
        ValueError
            where it is no text, no date and time, or one without an offset
        """
        at = datetime.fromisoformat(text) if isinstance(text, str) else None
        if at is None or at.tzinfo is None:
            raise ValueError("no date and time with offset")
        return cls(at)

    def __str__(self) -> str:
        return self.at.isoformat(timespec="seconds")


@cache
def fields_of(kind: type[Record]) -> tuple[FieldInfo, ...]:
    """The fields of a record; their types are read from their words only once."""
    return fields(kind)


def told_only(hint: Any, key: str = "told") -> bool:
    """Whether a field of this type is only told to the reader of the file (``seldom``: not even always)."""
    metas = get_args(hint)[1:] if get_origin(hint) is Annotated else ()
    return any(one.extra is not None and bool(one.extra.get(key)) for one in metas)


def read_custom(kind: type, value: object) -> object:
    """The values that are no JSON values, for ``msgspec``."""
    if kind is Moment:
        return Moment.read(value)
    raise NotImplementedError(kind)


def says(words: str) -> Meta:
    """What the published schema says of a field."""
    return Meta(description=words)


def given(value: T | UnsetType, otherwise: T) -> T:
    """A value that may not be told, or told as null, or what counts in its place."""
    return otherwise if isinstance(value, UnsetType) or value is None else value


def _wanted(words: str) -> dict[str, Any]:
    return {"wanted": words}


_AMOUNT = _wanted("a number that is not below zero")
_COUNT = _wanted("a whole number that is not below zero")
_POINTS = _wanted("a list of [x, y] points")

Text: TypeAlias = Annotated[str, Meta(max_length=LONGEST_TEXT, extra=_wanted("a text"))]
Name: TypeAlias = Annotated[str, Meta(min_length=1, max_length=LONGEST_TEXT, extra=_wanted("a text"))]
NotEmpty: TypeAlias = Annotated[str, Meta(min_length=1)]
Digest: TypeAlias = Annotated[str, Meta(pattern=DIGEST, extra=_wanted("a SHA-256 of 64 hex digits"))]
Money: TypeAlias = Annotated[str, Meta(pattern=MONEY, extra=_wanted("an amount"))]
Currency: TypeAlias = Annotated[str, Meta(pattern="^[A-Z]{3}$", extra=_wanted("three letters such as EUR"))]

Amount: TypeAlias = Annotated[float, Meta(ge=0, extra=_AMOUNT)]
Positive: TypeAlias = Annotated[float, Meta(gt=0, extra=_wanted("a number above zero"))]
Count: TypeAlias = Annotated[int, Meta(ge=0, le=LARGEST, extra=_COUNT)]
Ordinal: TypeAlias = Annotated[int, Meta(ge=1, le=LARGEST, extra=_wanted("a whole number above zero"))]
Minutes: TypeAlias = Annotated[int, Meta(ge=0, le=LONGEST_MINUTES, extra=_COUNT)]

Point: TypeAlias = Annotated[list[float], Meta(min_length=2, max_length=2, extra=_POINTS)]
Ring: TypeAlias = list[Point]
Outline: TypeAlias = Annotated[list[Point], Meta(min_length=3, extra=_POINTS)]
Pair: TypeAlias = Annotated[list[float], Meta(min_length=2, max_length=2)]
Triple: TypeAlias = Annotated[list[float], Meta(min_length=3, max_length=3)]
Sizes: TypeAlias = Annotated[list[Amount], Meta(min_length=3, max_length=3)]
Six: TypeAlias = Annotated[list[float], Meta(min_length=6, max_length=6)]
