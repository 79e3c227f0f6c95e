"""``plan.json`` as one typed record: writer, reader and published schema are made of it."""
