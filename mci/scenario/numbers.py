"""The numbers of a scenario that can be varied, each with the path that names it."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from enum import StrEnum

__all__ = ["TIMES", "WHOLE", "Number", "NumberKind", "part_at_path", "plain_path"]


class NumberKind(StrEnum):
    """What a number is, which says how it is read and written."""

    COUNT = "count"  # whole, 1 or more
    STOCK = "stock"  # whole, 0 or more, or unlimited
    NUMBER = "number"  # any, 0 or more
    SHARE = "share"  # 0 to 1
    MOMENT = "moment"  # min after the start
    DURATION = "duration"  # min, above 0
    DELAY = "delay"  # min, 0 or more
    PRESSURE = "pressure"  # psi
    FLOW = "flow"  # L/min
    VOLUME = "volume"  # L
    MASS = "mass"  # kg
    POWER = "power"  # W
    TEMPERATURE = "temperature"  # C
    WORD = "word"  # one of a few words, such as a pattern of arrival


#: Kinds that are whole numbers, and kinds that are times.
WHOLE = (NumberKind.COUNT, NumberKind.STOCK)
TIMES = (NumberKind.MOMENT, NumberKind.DURATION, NumberKind.DELAY)


@dataclass(frozen=True, slots=True)
class Number:
    """One number of a scenario.

    Parameters
    ----------
    path
        How it is named, such as ``patients.lounge.count`` or ``deliveries.county oxygen truck.delay``; names may hold
        anything, so a path is only ever compared as a whole, without regard to capitals and repeated spaces.
    kind
        What it is.
    text
        As written, such as ``1900 psi``; what a planner would write where it is derived from several lines.
    value
        In ``unit``; NaN for a word, and where it says ``full`` or nothing; ``inf`` for unlimited.
    unit
        ``min``, ``psi``, ``L/min``, ``L``, ``kg``, ``W``, ``C``; empty for plain numbers and shares.
    what
        In words, for a table.
    """

    path: str
    kind: NumberKind
    text: str
    value: float
    unit: str
    what: str


def plain_path(path: str) -> str:
    """Return a path as it is compared: without regard to capitals and repeated spaces."""
    return " ".join(path.lower().split())


def part_at_path(text: str, known: Container[str]) -> tuple[str, str] | None:
    """Part ``PATH = REST`` at the longest path that is known; names may hold ``=`` themselves.

    Parameters
    ----------
    text
        What a planner typed.
    known
        Plain paths.

    Returns
    -------
    tuple
        The plain path and the rest; ``None`` where no known path ends at a sign.
    """
    for end in range(len(text) - 1, -1, -1):
        if text[end] == "=" and plain_path(text[:end]) in known:
            return plain_path(text[:end]), text[end + 1 :].strip()
    return None
