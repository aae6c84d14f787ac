"""What trips are made for: one thing by one moment at one area; and the empties that come back."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Need", "Spent"]


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that is needed at an area.

    Parameters
    ----------
    item
        Key of ``Network.items``: a full cylinder, a regulator or a device.
    due
        When it must be usable there [min].
    weight
        How much it matters beside other needs.
    """

    area: str
    item: str
    due: float
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Spent:
    """Empty cylinders of one kind at an area.

    Parameters
    ----------
    item
        Key of ``Network.items``: an empty cylinder.
    at
        When the first, second, ... of them is free to be taken [min], in the order of time.
    """

    area: str
    item: str
    at: tuple[float, ...]
