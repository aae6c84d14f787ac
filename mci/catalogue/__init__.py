"""Cylinders, outlet sets, delivery devices and ladders, as data files with a source per row."""
