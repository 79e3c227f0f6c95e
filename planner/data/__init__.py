"""Built-in tables: printers, filaments, recipes, prices; each row with its source."""
