"""A plan together with what the judge says of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mci.plan.orders import Plan
    from mci.replay.verdict import Verdict

__all__ = ["Judged"]


@dataclass(frozen=True, slots=True)
class Judged:
    """A plan and its verdict."""

    plan: Plan
    verdict: Verdict

    @property
    def name(self) -> str:
        """What made the plan."""
        return self.plan.name
