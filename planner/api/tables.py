"""The built-in tables, to read what there is to choose from and where it comes from."""

from __future__ import annotations

TABLES = ("filaments", "printers", "recipes", "fittings", "finish")


def table_text(name: str) -> str:
    """One built-in table for the terminal, at most 80 columns.

    Raises
    ------
    RecordError
        when there is no table of that name
    """
    from planner.errors import RecordError
    from planner.io.records.tables import bead_text, support_text, table_rows
    from planner.report.text.table_text import table_lines

    if name not in TABLES:
        raise RecordError(
            f"there is no built-in table {name!r}.", where="tables", next_step=f"Known: {', '.join(TABLES)}."
        )
    lines = table_lines(*table_rows(name))
    return f"{lines}\n\n{bead_text()}\n\n{support_text()}" if name == "recipes" else lines
