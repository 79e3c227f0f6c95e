"""Airframe mass, balance and what moves it."""
