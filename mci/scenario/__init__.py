"""What the planner writes, read and checked, turned into what the program uses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from mci.scenario.read import read_scenario

__all__ = ["read_scenario"]


def __getattr__(name: str) -> Any:
    """Load the reader, and pydantic with it, only when it is asked for."""
    if name == "read_scenario":
        from mci.scenario import read

        return read.read_scenario
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
