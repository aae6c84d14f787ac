"""Every choice of a run that is not part of the incident, with its default and bounds."""

from __future__ import annotations

from dataclasses import dataclass

from mci.errors import UsageError

__all__ = ["PRIORITY_RULES", "Settings"]

PRIORITY_RULES = ("weighted", "strict")


@dataclass(frozen=True, slots=True)
class Settings:
    """How to plan.

    Parameters
    ----------
    priority
        ``weighted`` trades categories by their weights; ``strict`` serves category after
        category, each held before the next.
    first
        Categories that come before the others with the strict rule; without any the order of treatment.
    max_period
        Longest period of the time grid [min], above 0; shorter periods sharpen the times that
        are reported and never change the optimum.
    time_limit
        Limit for each solve [s], above 0.
    hold_tolerance
        Relative amount by which a solved stage may fall while a later one is solved, 0 to 0.01.
    threads
        Solver threads, at least 1.
    whole_gap
        Share of the bound by which a plan with whole patients may fall short of it before the search
        for a better one ends, 0 to 1.
    whole_time_limit
        Limit for that search, all areas together [s], above 0.
    """

    priority: str = "weighted"
    first: tuple[str, ...] = ()
    max_period: float = 10.0
    time_limit: float = 300.0
    hold_tolerance: float = 1e-9
    threads: int = 1
    whole_gap: float = 0.001
    whole_time_limit: float = 20.0

    def __post_init__(self) -> None:
        if self.priority not in PRIORITY_RULES:
            raise UsageError(f"priority must be one of {', '.join(PRIORITY_RULES)}, not {self.priority!r}")
        if not (self.max_period > 0 and self.time_limit > 0 and 0 <= self.hold_tolerance <= 0.01 and self.threads >= 1):
            raise UsageError(
                "settings out of range: max_period and time_limit must be above 0, "
                "hold_tolerance between 0 and 0.01, threads at least 1"
            )
        if not (0 <= self.whole_gap <= 1 and self.whole_time_limit > 0):
            raise UsageError("settings out of range: whole_gap must be between 0 and 1, whole_time_limit above 0")
