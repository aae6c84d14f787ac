"""Exercises: casualties and injects drawn, the packet, the log of a team read, and what was possible."""
