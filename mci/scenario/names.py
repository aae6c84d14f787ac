"""How single things are called where a scenario counts them in lots and stocks: one rule for scenarios and orders."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.scenario.model import Lot

__all__ = ["lot_names", "numbered"]


def numbered(key: str, count: int) -> list[str]:
    """Return the names of things alike: their key, with a number where there are several."""
    return [key] if count == 1 else [f"{key} {number}" for number in range(1, count + 1)]


def lot_names(lot: Lot) -> list[str]:
    """Return the names of the single supplies of a lot: their marks in an inventory, or its key and a number."""
    return [unit.id for unit in lot.units] if lot.units else numbered(lot.key, lot.quantity)
