"""One mesh: its surfaces, health, measures, poses."""
