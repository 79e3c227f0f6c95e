"""Frozen, checked values: what the user gives, and what the planner answers."""
