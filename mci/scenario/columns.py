"""Plain tables: numbers with their units, for people and for programs, no layout."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci.units import format_clock, format_litres, format_moment

if TYPE_CHECKING:
    from collections.abc import Callable

    from mci.catalogue.model import Source
    from mci.scenario.model import Scenario

__all__ = ["Column", "Table", "basis", "show_count", "show_litres", "show_moment", "show_span", "show_when"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it is called for people and for programs, and how a value is written.

    Parameters
    ----------
    title, key
        Names on a page and in data; a column without one is left away there.
    right
        Whether it is a number, which is never broken over lines.
    usual
        What needs no telling: a column that only says so in every row has no place on a page.
    once
        Whether a value like the one above is left blank on a page.
    """

    title: str
    key: str
    show: Callable[[Any], str] = str
    right: bool = False
    usual: str = ""
    once: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """One table of what the scenario says."""

    title: str
    key: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]

    def page(self, *, hidden: tuple[str, ...] = ()) -> list[tuple[Column, list[str]]]:
        """Return the columns as people read them, without those named by key in ``hidden``."""
        columns = []
        for number, column in enumerate(self.columns):
            texts = [column.show(row[number]) for row in self.rows]
            if column.title and column.key not in hidden and any(text != column.usual for text in texts):
                above = [None, *texts] if column.once else [None] * len(texts)
                columns.append((column, ["" if a == b else b for a, b in zip(above, texts, strict=False)]))
        return columns

    def records(self) -> list[dict[str, Any]]:
        """Return the rows as programs read them; ``None`` stands for no limit."""
        keys = [column.key for column in self.columns]
        return [{key: _finite(value) for key, value in zip(keys, row, strict=True) if key} for row in self.rows]


def _finite(value: Any) -> Any:
    return None if isinstance(value, float) and not math.isfinite(value) else value


def show_count(value: float) -> str:
    """Write a number of things."""
    return "unlimited" if math.isinf(value) else f"{value:.0f}"


def show_litres(value: float) -> str:
    """Write litres, also of what has no limit."""
    return "no limit" if math.isinf(value) else format_litres(value)


def show_moment(scenario: Scenario, moment: float) -> str:
    """Write a moment of the plan without the clock."""
    if math.isinf(moment) or moment >= scenario.horizon:
        return "end"
    return "start" if moment == 0 else format_moment(moment)


def show_when(scenario: Scenario) -> Callable[[float], str]:
    """Return how a moment of the plan is written, with the clock where the incident has a start."""

    def show(moment: float) -> str:
        text = show_moment(scenario, moment)
        clock = format_clock(moment, scenario.start) if text not in ("start", "end") else ""
        return f"{text} ({clock})" if clock else text

    return show


def show_span(scenario: Scenario, start: float, end: float = math.inf, delivery: str = "") -> str:
    """Write from when to when something is there, and what brings it."""
    when, ends = show_when(scenario), end < scenario.horizon
    begins = "" if start == 0 and ends else f"from {when(start)}"
    text = f"{begins} to {when(end)}".strip() if ends else begins
    return f"{text}, {delivery}" if delivery else text


def basis(source: Source) -> tuple[str, str]:
    """Return what an assumption rests on, in a word and in full."""
    return source.basis.value, source.text
