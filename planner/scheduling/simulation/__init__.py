"""A timed plan lived through many times, things going wrong."""
