"""A run turned into pages, figures and tables."""
