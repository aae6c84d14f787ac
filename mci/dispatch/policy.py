"""What a crew must be told: who should get what, whose turn it is, and how gas is to last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from mci.demand.people import Person
from mci.demand.stays import Stay
from mci.dispatch.floor import Floor, Source

if TYPE_CHECKING:
    from mci.dispatch.crew import Crew

__all__ = ["Here", "Pace", "Policy"]


@dataclass(frozen=True, slots=True)
class Here:
    """A patient who is there now: who, and the stay."""

    person: Person
    stay: Stay


class Pace(Protocol):
    """How the gas is meant to last."""

    def empty_by(self, source: Source) -> tuple[float, float]:
        """Return when a supply should be empty [min], and at which flow a patient there usually is [L/min]."""

    def spare(self, floor: Floor, source: Source) -> float:
        """Return how much more may be drawn now from the lot of a source without getting ahead [L/min]."""


class Policy(Protocol):
    """Who should get what, and whose turn it is.

    ``early`` is how many times as long before it is empty a cylinder may be changed as it would otherwise be too late,
    ``rest`` the time within which nobody is moved twice [min].
    """

    early: float
    rest: float

    @property
    def pace(self) -> Pace:
        """How the gas is meant to last."""

    def plan(self, crew: Crew, time: float) -> None:
        """Look at who is there, before wishes are asked for."""

    def wish(self, here: Here) -> int | None:
        """Return the rung that a patient should have now; ``None`` for no oxygen."""

    def turn(self, here: Here) -> tuple[float, ...]:
        """Return a key: who comes first when outlets are handed out."""

    def after(self, crew: Crew, time: float) -> None:
        """Do what else is wise once everybody has been seen to."""

    def why_less(self, crew: Crew, here: Here) -> str:
        """Say why a patient is stepped down or withdrawn although still in need."""
