"""Triage categories."""

from __future__ import annotations

__all__ = ["CATEGORIES"]

#: Triage categories in the order of treatment (SALT; the MUCC core criteria).
CATEGORIES = ("immediate", "delayed", "minimal", "expectant")
