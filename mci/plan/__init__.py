"""The contract between whoever makes a plan and whoever judges it: single things by name, and orders."""
