"""Machine files of our own for tests: written from beads, with every sum known beforehand."""
