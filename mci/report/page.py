"""What a report says, as words in frozen records: the one source of the HTML page and of the terminal.

Numbers become words in :mod:`mci.report.sections`; the template and the terminal
only lay them out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.report.cards import Card
    from mci.report.cautions import Caution
    from mci.report.comparison import Comparison
    from mci.report.order_sheets import Sheet

__all__ = ["Bottleneck", "CoverageRow", "Emptying", "Goal", "KeyFigure", "Need", "Page", "Split"]
__all__ += ["Step", "SupplyRow", "TherapyRow", "WindowRow"]


@dataclass(frozen=True, slots=True)
class KeyFigure:
    """One number that matters, with its label; ``short`` marks a shortage."""

    value: str
    label: str
    short: bool


@dataclass(frozen=True, slots=True)
class Split:
    """Shares of a need, 0 to 1, for a bar."""

    at_target: float
    lower: float
    without: float


@dataclass(frozen=True, slots=True)
class CoverageRow:
    """One category, or all of them together; patient time is in the unit of the page."""

    category: str
    word: str
    patients: str
    need: str
    coverage: str
    at_target: str
    lower: str
    without: str
    most_below: str
    most_without: str
    split: Split


@dataclass(frozen=True, slots=True)
class WindowRow:
    """One shortage window."""

    when: str
    clock: str
    category: str
    word: str
    area: str
    below: str
    without: str
    lower_time: str
    without_time: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Emptying:
    """When the cylinders and vessels of an area are first empty."""

    area: str
    when: str
    empties: bool


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """A binding resource and the worth of one more; ``relative`` is its gain as a share of the largest."""

    resource: str
    area: str
    one_more: str
    gain: str
    by_category: str
    relative: float


@dataclass(frozen=True, slots=True)
class Step:
    """So many more at the latest by a moment, the running total, and the extra gas drawn until the next step."""

    when: str
    quantity: str
    total: str
    litres: str


@dataclass(frozen=True, slots=True)
class Need:
    """One item that must be added at one area: its total, the gas in it, and the steps in order of time."""

    area: str
    item: str
    total: str
    litres: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Goal:
    """The resupply timeline of one goal; no needs where nothing more is needed."""

    title: str
    sentence: str
    needs: tuple[Need, ...]


@dataclass(frozen=True, slots=True)
class TherapyRow:
    """What one category at one area is given: a device at a flow."""

    area: str
    category: str
    word: str
    device: str
    setting: str
    rung: str
    credit: str
    most: str
    patient_time: str


@dataclass(frozen=True, slots=True)
class SupplyRow:
    """One lot: what it holds, what the plan draws from it, what is left."""

    area: str
    label: str
    when: str
    holds: str
    drawn: str
    left: str


@dataclass(frozen=True, slots=True)
class Page:
    """The whole report in words.

    ``plan_windows`` are the shortage windows of this plan, ``None`` where there is none; ``windows`` those at best.
    """

    name: str
    summary: str
    headline: tuple[str, ...]
    standing: str
    comparison: Comparison | None
    unit: str
    key_figures: tuple[KeyFigure, ...]
    glance: tuple[tuple[str, tuple[str, ...]], ...]
    coverage: tuple[CoverageRow, ...]
    plan_windows: tuple[WindowRow, ...] | None
    windows: tuple[WindowRow, ...]
    emptyings: tuple[Emptying, ...]
    goals: tuple[Goal, ...]
    resupply_item: str
    resupply_notes: tuple[str, ...]
    bottlenecks: tuple[Bottleneck, ...]
    therapy: tuple[TherapyRow, ...]
    supplies: tuple[SupplyRow, ...]
    unused: tuple[tuple[str, str], ...]
    sheets: tuple[Sheet, ...]
    cards: tuple[Card, ...]
    doubts: tuple[str, ...]
    left_out: tuple[tuple[str, str, str], ...]
    assumptions: tuple[tuple[str, str, str, str], ...]
    statement: str
    cautions: tuple[Caution, ...]
    provenance: tuple[tuple[str, str], ...]
    provenance_line: str

    @property
    def shown_windows(self) -> tuple[WindowRow, ...]:
        """The windows to show first: those of this plan, or those at best where there is none."""
        return self.windows if self.plan_windows is None else self.plan_windows

    @property
    def nobody_short(self) -> str:
        """What to say where there is no window to show."""
        if self.plan_windows is None:
            return "No patient is below target at any time of the plan."
        return "In this plan, nobody is below target for as long as a minute."

    @property
    def nothing_gained(self) -> str:
        """What to say where one more of nothing gains: all is well, or one thing alone cannot help."""
        if self.windows:
            more = "what must come is under “What more must be where by when”"
            return f"One more of what is there would gain nothing by itself; {more}."
        return "Nothing binds: one more of anything would change nothing."
