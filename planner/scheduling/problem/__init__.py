"""Batches, printers and attendance in whole numbers, and the clock that times them."""
