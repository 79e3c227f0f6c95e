"""Built-in tables as rows of words."""

from __future__ import annotations

from planner.api import table_text
from planner.io.records.tables import table_rows


def test_every_filament_shows_price_range_drying_and_source():
    """No cell is empty but for what is not known, and each row says where its numbers came from."""
    head, rows = table_rows("filaments")
    assert head[-2:] == ("EUR/spool", "dry h, C")
    for cells, source in rows:
        assert all(cells)
        assert " - " in cells[-2]
        assert source


def test_a_foaming_filament_shows_its_density_over_temperature():
    """With the words of its own source."""
    source = {cells[0]: source for cells, source in table_rows("filaments")[1]}["foaming PLA"]
    assert "Laid g/cm3 over nozzle temperature: 200 C 1.21" in source
    assert "Second hand" in source


def test_tables_fit_the_terminal():
    """Eighty columns."""
    for name in ("filaments", "printers", "recipes", "fittings", "finish"):
        assert max(len(line) for line in table_text(name).splitlines()) <= 80


def test_the_table_of_recipes_says_what_support_would_be():
    """Its walls, fill, gaps and growth, with their source."""
    told = " ".join(table_text("recipes").split())
    assert '"bed only" or "everywhere"' in told
    assert "1 wall round 15 % inside, 2 whole layers under the part, 0.5 mm free beside it" in told
    assert "common practice, no source" in told
