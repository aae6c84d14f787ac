"""Opening hours: when something can be begun so that it is over before the place closes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.timegrid import RESOLUTION

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.scenario.network import Window

__all__ = ["Work", "first_opening"]


@dataclass(frozen=True, slots=True)
class Work:
    """Unloading and then loading at one place, within one opening of it.

    Parameters
    ----------
    begin, done
        When it is begun and over [min].
    closes
        When the place closes after that [min].
    """

    begin: float
    done: float
    closes: float


def first_opening(
    windows: Sequence[Window], at: float, first: float, then: float = 0.0, ready: float = 0.0
) -> Work | None:
    """Return the earliest work of two parts, one after the other within one window.

    Parameters
    ----------
    windows
        Opening hours, in the order of time.
    at
        Nothing is begun before this moment [min].
    first, then
        How long the two parts take [min].
    ready
        The second part is not begun before this moment [min].

    Returns
    -------
    work
        ``None`` where no window is long enough.
    """
    for window in windows:
        begin = max(at, window.start)
        done = max(begin + first, ready) + then
        if done <= window.end + RESOLUTION:
            return Work(begin, done, window.end)
    return None
