"""Airframe mass, balance and cost."""
