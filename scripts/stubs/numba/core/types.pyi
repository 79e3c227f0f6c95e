"""The compiler from within: types of arguments."""

from collections.abc import Iterator
from typing import Any

class BaseTuple:
    def __iter__(self) -> Iterator[Any]: ...

class Integer:
    signed: bool

class IntegerLiteral:
    literal_type: Integer

int64: Integer
