"""Cases: variants of one scenario, each named, with the numbers in which it differs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

__all__ = ["PLANNED", "Case", "Role", "Row"]

#: What was found for one case: measures by name (:mod:`mci.surge.measures`), numbers and words.
Row = Mapping[str, float | int | str]
#: Status of a case that has a result.
PLANNED = "planned"


class Role(StrEnum):
    """Why a case is evaluated."""

    AS_WRITTEN = "as written"  # the scenario itself
    CASE = "case"  # asked for
    SWING = "swing"  # one number at the end of its range, the others as written
    BETWEEN = "between"  # to find where coverage breaks
    SAMPLE = "sample"  # drawn at random
    DRIVER = "driver"  # drawn to see which input drives the result


@dataclass(frozen=True, slots=True)
class Case:
    """One variant.

    Parameters
    ----------
    key
        Name, used once in a study.
    values
        Texts by path, each as a planner would write it.
    role
        Why it is evaluated.
    orders
        Whether orders are made for it and judged, not only the best possible found.
    """

    key: str
    values: Mapping[str, str] = field(default_factory=dict)
    role: Role = Role.CASE
    orders: bool = False
