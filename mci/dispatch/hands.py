"""The people who change cylinders, each busy with one thing at a time."""

from __future__ import annotations

import math
from bisect import insort
from dataclasses import dataclass, field

from mci.plan.things import ANYONE, Handler, find_handlers
from mci.scenario.model import Scenario

__all__ = ["Booking", "Hands"]


@dataclass(frozen=True, slots=True)
class Booking:
    """Who changes a cylinder, from ``begin`` to ``end`` [min]."""

    by: str
    begin: float
    end: float


@dataclass(slots=True)
class _Calendar:
    handler: Handler
    busy: list[tuple[float, float]] = field(default_factory=list)

    def holds(self, booking: Booking) -> bool:
        """Tell whether a booking is for this person and within these hours: somebody may have several shifts."""
        same = self.handler.key == booking.by
        begins = self.handler.available_from <= booking.begin + 1e-9
        return same and begins and booking.end <= self.handler.available_until + 1e-9

    def first_end(self, at: float, minutes: float, earliest: float) -> float:
        """Return the first end of a free stretch of that length that is not before ``at``; inf if there is none."""
        begin = max(at - minutes, earliest, self.handler.available_from)
        for start, end in self.busy:
            if end <= begin + 1e-9:
                continue
            if start >= begin + minutes - 1e-9:
                break
            begin = end
        return begin + minutes if begin + minutes <= self.handler.available_until + 1e-9 else math.inf

    def last_end(self, at: float, minutes: float, earliest: float) -> float:
        """Return the last end of a free stretch of that length that is not after ``at``; -inf if there is none."""
        end = min(at, self.handler.available_until)
        earliest = max(earliest, self.handler.available_from)
        for start, until in reversed(self.busy):
            if start >= end - 1e-9:
                continue
            if until <= end - minutes + 1e-9:
                break
            end = start
        return end if end - minutes >= earliest - 1e-9 else -math.inf


class Hands:
    """Calendars of everybody who changes cylinders, per area."""

    def __init__(self, scenario: Scenario) -> None:
        self._calendars: dict[str, list[_Calendar]] = {area.key: [] for area in scenario.areas}
        for handler in find_handlers(scenario):
            self._calendars[handler.area].append(_Calendar(handler))

    def learn(self, scenario: Scenario) -> None:
        """Take in who has come, and until when people stay as far as is known."""
        for handler in find_handlers(scenario):
            for calendar in self._calendars[handler.area]:
                same = calendar.handler.key == handler.key
                if same and calendar.handler.available_from == handler.available_from:
                    calendar.handler = handler
                    break
            else:
                self._calendars[handler.area].append(_Calendar(handler))

    def keeps(self, area: str, booking: Booking) -> bool:
        """Tell whether whoever was booked is still there at the end of it."""
        return booking.by == "" or any(calendar.holds(booking) for calendar in self._calendars[area])

    def look(self, area: str, at: float, minutes: float, earliest: float) -> Booking | None:
        """Find who could be done first, but not before a moment; the work may begin before it.

        Parameters
        ----------
        at
            When the cylinder should be ready [min].
        minutes
            How long the change takes [min].
        earliest
            When the work can begin at the earliest: the cylinder is there [min].
        """
        if minutes <= 0:
            return Booking("", max(at, earliest), max(at, earliest))
        found = [(calendar.first_end(at, minutes, earliest), n) for n, calendar in enumerate(self._calendars[area])]
        end, number = min(found, default=(math.inf, 0))
        if not math.isfinite(end):
            return None
        return Booking(self._calendars[area][number].handler.key, end - minutes, end)

    def prepare(self, area: str, by: float, minutes: float, earliest: float) -> Booking | None:
        """Find who could do it beforehand, as late as possible: done by a moment, not begun before another."""
        if minutes <= 0:
            return Booking("", by, by) if by >= earliest else None
        found = [(calendar.last_end(by, minutes, earliest), n) for n, calendar in enumerate(self._calendars[area])]
        end, number = max(found, default=(-math.inf, 0))
        if not math.isfinite(end):
            return None
        return Booking(self._calendars[area][number].handler.key, end - minutes, end)

    def book(self, area: str, booking: Booking) -> None:
        """Keep the person busy."""
        if booking.by in ("", ANYONE):
            return
        calendar = next(each for each in self._calendars[area] if each.holds(booking))
        insort(calendar.busy, (booking.begin, booking.end))

    def free_from(self, area: str, time: float) -> list[float]:
        """Return from when each person of an area who is on shift has nothing booked any more [min]."""
        found = []
        for calendar in self._calendars[area]:
            handler = calendar.handler
            if handler.available_from <= time + 1e-9 < handler.available_until + 1e-9 and handler.key != ANYONE:
                found.append(max([time, *(end for _, end in calendar.busy)]))
        return found

    def next_free(self, time: float) -> float:
        """Return when somebody is next done with something [min]."""
        ends = (end for calendars in self._calendars.values() for each in calendars for _, end in each.busy[-1:])
        return min((end for end in ends if end > time + 1e-9), default=math.inf)

    def free(self, area: str, booking: Booking) -> None:
        """Take a booking back."""
        for calendar in self._calendars[area]:
            if calendar.handler.key == booking.by and (booking.begin, booking.end) in calendar.busy:
                calendar.busy.remove((booking.begin, booking.end))
