"""Lists of weighed pieces: read from CSV, told as CSV and JSON with all other facts."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from pathlib import Path

from planner.errors import RecordError
from planner.ledger.fact import Fact

LIMIT_BYTES = 2_000_000
HEAVIEST_G = 100_000.0
COLUMNS = ("seq", "at", "airframe", "kind", "about", "grams", "who", "uid", "data")


def grams_of(text: str, where: str) -> float:
    """Grams as people write them: ``29.8``, ``29,8``, ``29.8 g``.

    Raises
    ------
    RecordError
        for what is no mass above nothing and below 100 kg
    """
    try:
        grams = float(text.strip().removesuffix("g").strip().replace(",", "."))
    except ValueError:
        grams = -1.0
    if not 0.0 < grams <= HEAVIEST_G:
        raise RecordError(
            f"{text!r} is no mass between 0 and {HEAVIEST_G:g} g.",
            where=where,
            next_step="Write the grams that the scale shows, like 29.8.",
        )
    return grams


def read_weigh_list(path: Path) -> list[tuple[str, float]]:
    """Pieces and grams of a CSV file with the columns ``piece`` and ``grams``, whatever else it holds.

    Raises
    ------
    RecordError
        naming file, row and what is wrong with it; then nothing of it counts
    """
    try:
        if path.stat().st_size > LIMIT_BYTES:
            raise RecordError(f"the list is larger than {LIMIT_BYTES} bytes.", where=str(path))
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "it is no UTF-8 text"
        raise RecordError(
            f"the list cannot be read ({why}).", where=str(path), next_step="Give a CSV file."
        ) from error
    first = text.splitlines()[0] if text.strip() else ""
    rows = csv.DictReader(io.StringIO(text), delimiter=";" if first.count(";") > first.count(",") else ",")
    heads = {str(head).strip().casefold(): head for head in rows.fieldnames or ()}
    if "piece" not in heads or "grams" not in heads:
        raise RecordError(
            f"its first line names {', '.join(heads) or 'nothing'}, not piece and grams.",
            where=str(path),
            next_step="Let the first line be: piece,grams",
        )
    found = []
    for number, row in enumerate(rows, start=2):
        piece, grams = (str(row[heads[key]] or "").strip() for key in ("piece", "grams"))
        if not piece and not grams:
            continue
        if not piece:
            raise RecordError("the row names no piece.", where=f"{path}, line {number}")
        found.append((piece, grams_of(grams, f"{path}, line {number}")))
    return found


def facts_csv(facts: Sequence[Fact]) -> str:
    """Facts as CSV; text that a sheet might take for a formula is kept as text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in map(fact_row, facts):
        writer.writerow([_as_text(row[column]) for column in COLUMNS])
    return out.getvalue()


def facts_json(facts: Sequence[Fact]) -> str:
    """Facts as JSON, one object each, their data as they are kept."""
    rows = [{**fact_row(fact), "data": dict(fact.data)} for fact in facts]
    return json.dumps({"facts": rows}, ensure_ascii=False, indent=1) + "\n"


def fact_row(fact: Fact) -> dict[str, str | int | float | None]:
    """A fact by column."""
    return {
        "seq": fact.seq,
        "at": fact.at.isoformat(),
        "airframe": fact.airframe,
        "kind": fact.kind,
        "about": fact.about,
        "grams": fact.data.get("grams"),
        "who": fact.who,
        "uid": fact.uid,
        "data": fact.text,
    }


def _as_text(value: str | float | None) -> str | float | None:
    return f"'{value}" if isinstance(value, str) and value[:1] in ("=", "+", "-", "@") else value
