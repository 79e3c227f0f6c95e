"""Comments in rows of a record: read, taken away, left behind what is written after them."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, Comment, Null, Table, Whitespace

NOT_SO = "asked, and not so"
KEPT = "keeps its place as file"
_STACK_ASKED = "[[stack]]  # not sure"
_COUNT = re.compile(r"\d+ lines? (?:is|are) marked \"not sure\"")


def notes_of(row: Any) -> list[str]:
    """The comments that stand on lines of their own in a row, without the number sign."""
    return [_text(item) for _, item in row.value.body if isinstance(item, Comment)]


def drop_notes(row: Any, unwanted: Callable[[str], bool]) -> bool:
    """Take comments out of a row; says whether one was there."""
    body = row.value.body
    found = [at for at, (_, item) in enumerate(body) if isinstance(item, Comment) and unwanted(_text(item))]
    for at in found:
        body[at] = (None, Null())
    return bool(found)


def write(row: Any, key: str, value: Any, why: str = "") -> None:
    """A value and why; a new key stands before the comments at the end of its row, not behind them."""
    item = tomlkit.item(value)
    if why:
        item.comment("".join(letter if letter.isprintable() else " " for letter in why))
    behind = [] if key in row else _cut(row)
    row[key] = item
    _put_back(row, behind)


def note(row: Any, text: str) -> None:
    """A comment on a line of its own, after the last key of a row."""
    behind = _cut(row)
    row.add(tomlkit.comment(text))
    _put_back(row, behind)


def add_row(doc: TOMLDocument, kind: str, values: dict[str, Any], why: dict[str, str] | None = None) -> Any:
    """One more ``[[kind]]``, after the last one and before the comments that follow it."""
    made: Table = tomlkit.table()
    for key, value in values.items():
        write(made, key, value, (why or {}).get(key, ""))
    rows = doc.get(kind)
    there = isinstance(rows, AoT) and len(rows) > 0
    before = rows[-1] if there else (_tables(doc) or [None])[-1]  # type: ignore[index]
    behind = [] if before is None else _cut(before, from_blank=True)
    if before is not None:
        before.add(tomlkit.nl())
    if not there:
        doc[kind] = tomlkit.aot()
    doc[kind].append(made)
    _put_back(doc[kind][-1], behind)
    return doc[kind][-1]


def drop_stack_asked(doc: TOMLDocument, name: str) -> None:
    """Take out the lines of a draft that ask where a stack begins."""
    wanted = f"name = {tomlkit.item(name).as_string()}"
    for table in _tables(doc):
        body = table.value.body
        for at, (_, item) in enumerate(body):
            below = body[at + 1][1] if at + 1 < len(body) else None
            asked = isinstance(item, Comment) and _text(item).startswith(_STACK_ASKED)
            if not (asked and isinstance(below, Comment) and _text(below).startswith(wanted)):
                continue
            for line in range(at, len(body)):
                if not isinstance(body[line][1], Comment):
                    break
                body[line] = (None, Null())


def recount(doc: TOMLDocument) -> None:
    """How many lines of a draft are still marked "not sure", in the comment at its head that tells so."""
    left = sum("# not sure:" in text for table in _tables(doc) for text in notes_of(table))
    for at, (_, item) in enumerate(doc.body):
        if not isinstance(item, Comment) or not _COUNT.search(item.trivia.comment):
            continue
        told = f'{left} line{" is" if left == 1 else "s are"} marked "not sure"'
        if left:
            item.trivia.comment = _COUNT.sub(told, item.trivia.comment)
        else:
            doc.body[at] = (None, Null())


def _tables(doc: TOMLDocument) -> list[Any]:
    found: list[Any] = []
    for value in doc.values():
        if isinstance(value, Table):
            found.append(value)
        elif isinstance(value, AoT):
            found += list(value)
    return found


def _cut(row: Any, *, from_blank: bool = False) -> list[Any]:
    """Comments and empty lines at the end of a row, taken off; or only those from an empty line on."""
    body = row.value.body
    at = len(body)
    while at and body[at - 1][0] is None:
        at -= 1
    while from_blank and at < len(body) and not isinstance(body[at][1], Whitespace):
        at += 1
    behind = [item for _, item in body[at:] if not isinstance(item, Null)]
    del body[at:]
    return behind


def _put_back(row: Any, behind: list[Any]) -> None:
    for item in behind:
        row.add(item)


def _text(item: Comment) -> str:
    return str(item.trivia.comment).lstrip("#").strip()
