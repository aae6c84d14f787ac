"""Dispatch: from whole patients per rung to orders that a crew can follow."""
