"""How policies look in figures of studies: told apart by stroke and mark, not by colour alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from mci.report.figures.style import INK, QUIET, SUPPLY

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["MARK", "STROKE"]

#: Lines.
STROKE: Mapping[str, Mapping[str, Any]] = {
    "best": {"color": INK, "linestyle": "solid", "linewidth": 1.3},
    "orders": {"color": SUPPLY, "linestyle": (0, (6, 2)), "linewidth": 1.6},
    "rolling": {"color": SUPPLY, "linestyle": "solid", "linewidth": 2.6},
    "usual": {"color": QUIET, "linestyle": (0, (1.2, 1.6)), "linewidth": 1.8},
}
#: Marks.
MARK: Mapping[str, Mapping[str, Any]] = {
    "best": {"marker": "D", "markersize": 5.0, "markerfacecolor": "white"},
    "orders": {"marker": "s", "markersize": 5.0, "markerfacecolor": "white"},
    "rolling": {"marker": "o", "markersize": 6.5, "markerfacecolor": SUPPLY},
    "usual": {"marker": "v", "markersize": 5.5, "markerfacecolor": "white"},
}
