"""How many cases make one task of a worker: so many that sending costs little, so few that rows come back soon."""

from __future__ import annotations

__all__ = ["Pace"]

_SECONDS = 1.0  # of work in a task
_MOST = 500  # cases in a task
_SMALLEST = 8  # part of a usual task, towards the end
_GROWTH = 2  # the first cases of a worker are slow, and one quick case says little about the next


class Pace:
    """Learns from finished tasks how long a case takes."""

    def __init__(self) -> None:
        self._size = 1

    def learn(self, cases: int, seconds: float) -> None:
        """Take note of a finished task: its cases and how long they took [s]."""
        fitting = int(_SECONDS * cases / max(seconds, 1e-9))
        self._size = max(1, min(fitting, max(self._size, _GROWTH * cases), _MOST))

    def size(self, left: int, workers: int) -> int:
        """Return how many of the cases left the next task gets: fewer at the end, so that all workers end together."""
        return min(left, max(min(self._size, -(-left // (2 * workers))), self._size // _SMALLEST))
