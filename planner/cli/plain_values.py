"""Words of the command line that are what they say: texts, paths, numbers that have a reader of their own.

The library of the command line checks every value by a second one, which it imports and hands a scheme for
each option that a command knows, given or not: a tenth of a second of each command. What is plain is read
here, to the same values; whatever is not goes to the library, which also says what is wrong.
"""

from __future__ import annotations

import os
import types
from collections.abc import Callable
from inspect import unwrap
from pathlib import Path
from typing import Any, Union, get_args, get_origin, get_type_hints

from typer.core import TyperCommand, TyperGroup

Read = Callable[[Any], Any]
UNREADABLE = "a matter of the library"


class PlainCommand(TyperCommand):
    """A command whose words are read here where they are plain."""

    def get_params(self, ctx: Any) -> list[Any]:
        """Its options, and the one for help."""
        return _reading_plainly(super().get_params(ctx), self.callback)


class PlainGroup(TyperGroup):
    """The command above the commands, likewise."""

    def get_params(self, ctx: Any) -> list[Any]:
        """Its options, and the one for help."""
        return _reading_plainly(super().get_params(ctx), self.callback)


def _reading_plainly(params: list[Any], command: Callable[..., Any] | None) -> list[Any]:
    hints = {} if command is None else get_type_hints(unwrap(command), include_extras=True)
    for param in params:
        if "process_value" not in vars(param):
            vars(param)["process_value"] = _processed(param, reader_of(hints.get(param.name)))
    return params


def _processed(param: Any, read: Read | None) -> Callable[[Any, Any], Any]:
    """What the library asks of a parameter for a word, or for None where none was given."""
    many, otherwise = param.multiple or param.nargs == -1, param.process_value

    def value_of(ctx: Any, value: Any) -> Any:
        if value is None and not param.required:
            none = () if many else None
            return none if param.callback is None else param.callback(ctx, param, none)
        unread = value in (None, "", (), []) or isinstance(value, list | tuple) != many
        if read is None or unread or param.callback is not None:
            return otherwise(ctx, value)
        try:
            return [read(each) for each in value] if many else read(value)
        except Exception:  # of whatever kind: the library finds it again, and says it to the person
            return otherwise(ctx, value)

    return value_of


def reader_of(hint: Any) -> Read | None:
    """What reads one word of an annotated type; none where that is the matter of the library."""
    kind, *told = get_args(hint) if hasattr(hint, "__metadata__") else (hint,)
    for option in told:
        if getattr(option, "parser", None) is not None:
            parser: Read = option.parser
            return parser
    if get_origin(kind) in (Union, types.UnionType):
        some = [each for each in get_args(kind) if each is not type(None)]
        kind = some[0] if len(some) == 1 else None
    if get_origin(kind) is list:
        (kind,) = get_args(kind)
    return {str: _text, Path: _path}.get(kind)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(UNREADABLE)
    value.encode()  # bytes of another coding are refused by the library
    return value


def _path(value: Any) -> Path:
    """A path that is new or may be read."""
    path = Path(value)
    _text(str(path))
    if "\0" in str(path) or (path.exists() and not os.access(path, os.R_OK)):
        raise ValueError(UNREADABLE)
    return path
