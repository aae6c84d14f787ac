"""Arrivals and stays, counted into care groups and periods."""
