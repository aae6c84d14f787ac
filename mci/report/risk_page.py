"""What the page of a risk study says, as words in frozen records: the one source of HTML page and terminal."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ChanceRow", "InputRow", "PolicyRow", "RiskBody", "SummaryRow"]


@dataclass(frozen=True, slots=True)
class InputRow:
    """One number that is uncertain: its path, what it is, as written, and how it varies."""

    path: str
    what: str
    written: str
    law: str


@dataclass(frozen=True, slots=True)
class PolicyRow:
    """Mean coverage of one category by every policy, each with its interval of 95 %."""

    category: str
    word: str
    means: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ChanceRow:
    """Patient-minutes without oxygen of one category by one policy in the worst one of so many incidents."""

    category: str
    word: str
    policy: str
    amounts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SummaryRow:
    """One measure over all samples; ``absent`` is in how many it does not occur."""

    title: str
    unit: str
    mean: str
    interval: str
    q05: str
    q50: str
    q95: str
    absent: str


@dataclass(frozen=True, slots=True)
class RiskBody:
    """What only the page of a risk study has; ``one_in`` names the columns of amounts of ``chances``."""

    inputs: tuple[InputRow, ...]
    correlations: tuple[str, ...]
    policies: tuple[tuple[str, str], ...]
    compared: tuple[PolicyRow, ...]
    rolling: str
    one_in: tuple[int, ...]
    chances: tuple[ChanceRow, ...]
    drivers: tuple[tuple[str, str], ...]
    settled: str
    summary: tuple[SummaryRow, ...]
