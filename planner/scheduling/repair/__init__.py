"""Schedules that go on from earlier ones."""
