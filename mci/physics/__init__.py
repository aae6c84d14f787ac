"""Gas contents, durations and device draw, as pure functions."""
