"""The linear programme: the one place where models are written and solved."""
