"""The look that all figures share: colours, fills and settings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["CATEGORY_FILL", "HAIR", "INK", "LOWER", "QUIET", "RC", "SUPPLY", "WITHOUT"]

INK = "#17212b"
QUIET = "#5b6770"
HAIR = "#d9dee2"
#: Gas and flows: a colour that no triage category uses.
SUPPLY = "#3f6f8f"
#: Triage colours as the trade uses them, in tones that colour-blind people tell apart by lightness.
CATEGORY_FILL: Mapping[str, str] = {
    "immediate": "#b3261e",
    "delayed": "#f0c433",
    "minimal": "#3a8a4d",
    "expectant": "#9aa1a8",
}
#: On a lower rung: thin level lines on white; without oxygen: dense slanted strokes on white.
LOWER: Mapping[str, Any] = {"facecolor": "white", "edgecolor": INK, "hatch": "---", "linewidth": 0.6}
WITHOUT: Mapping[str, Any] = {"facecolor": "white", "edgecolor": INK, "hatch": "//////", "linewidth": 0.9}

#: Settings for drawing: text stays text, ids depend on the drawing alone, names are never taken for mathematics.
RC: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "mci",
    "text.parse_math": False,
    "text.color": INK,
    "font.family": ["DejaVu Sans"],
    "font.size": 7.5,
    "hatch.linewidth": 0.7,
}
